//! Ends of parts and which of them mate: solvent sockets, pipe threads, hose threads, barbs, compression ends.
//!
//! Two ends mate only if their sizes agree in the system they belong to; tubing is told by its true bore and outside, so
//! that two tubings sold under one nominal size do not accept the same barb.

use std::fmt;
use std::str::FromStr;

/// The end of a part.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Joint {
    /// Solvent socket, by nominal size.
    SlipSocket(String),
    /// Plain pipe end that goes into a socket.
    SlipSpigot(String),
    /// Solder socket of copper fittings.
    SolderSocket(String),
    /// Plain copper end.
    SolderSpigot(String),
    /// Taper pipe thread, inside.
    ThreadFemale(String),
    /// Taper pipe thread, outside.
    ThreadMale(String),
    /// Hose thread, inside.
    HoseFemale(String),
    /// Hose thread, outside.
    HoseMale(String),
    /// Barb that goes into tubing, by the bore in millimetres.
    Barb(String),
    /// Compression end that takes tubing, by the outside in millimetres.
    Compression(String),
    /// End of tubing, by bore and outside in millimetres.
    Tube {
        /// Bore in millimetres, as written.
        bore: String,
        /// Outside in millimetres, as written.
        outside: String,
    },
}

impl Joint {
    /// Whether the two go together without another part.
    #[must_use]
    pub fn mates(&self, other: &Self) -> bool {
        use Joint::{
            Barb, Compression, HoseFemale, HoseMale, SlipSocket, SlipSpigot, SolderSocket,
            SolderSpigot, ThreadFemale, ThreadMale, Tube,
        };
        match (self, other) {
            (SlipSocket(a), SlipSpigot(b))
            | (SlipSpigot(a), SlipSocket(b))
            | (SolderSocket(a), SolderSpigot(b))
            | (SolderSpigot(a), SolderSocket(b))
            | (ThreadFemale(a), ThreadMale(b))
            | (ThreadMale(a), ThreadFemale(b))
            | (HoseFemale(a), HoseMale(b))
            | (HoseMale(a), HoseFemale(b))
            | (Barb(a), Tube { bore: b, .. })
            | (Tube { bore: a, .. }, Barb(b))
            | (Compression(a), Tube { outside: b, .. })
            | (Tube { outside: a, .. }, Compression(b)) => a == b,
            _ => false,
        }
    }

    fn parts(&self) -> (&'static str, String) {
        match self {
            Self::SlipSocket(size) => ("slip-socket", size.clone()),
            Self::SlipSpigot(size) => ("slip-spigot", size.clone()),
            Self::SolderSocket(size) => ("solder-socket", size.clone()),
            Self::SolderSpigot(size) => ("solder-spigot", size.clone()),
            Self::ThreadFemale(size) => ("thread-f", size.clone()),
            Self::ThreadMale(size) => ("thread-m", size.clone()),
            Self::HoseFemale(size) => ("hose-f", size.clone()),
            Self::HoseMale(size) => ("hose-m", size.clone()),
            Self::Barb(size) => ("barb", size.clone()),
            Self::Compression(size) => ("compression", size.clone()),
            Self::Tube { bore, outside } => ("tube", format!("{bore}/{outside}")),
        }
    }
}

impl fmt::Display for Joint {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (word, size) = self.parts();
        write!(f, "{word} {size}")
    }
}

/// The text is not an end type.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error(
    "\"{0}\" is not an end type: expected a word and a size, such as slip-socket 3/4, thread-m 1 or tube 15.24/17.78"
)]
pub struct NotAJoint(String);

impl FromStr for Joint {
    type Err = NotAJoint;
    fn from_str(text: &str) -> Result<Self, NotAJoint> {
        let refused = || NotAJoint(text.to_owned());
        let (word, size) = text
            .split_once(' ')
            .filter(|(_, size)| !size.is_empty())
            .ok_or_else(refused)?;
        let size = size.to_owned();
        Ok(match word {
            "slip-socket" => Self::SlipSocket(size),
            "slip-spigot" => Self::SlipSpigot(size),
            "solder-socket" => Self::SolderSocket(size),
            "solder-spigot" => Self::SolderSpigot(size),
            "thread-f" => Self::ThreadFemale(size),
            "thread-m" => Self::ThreadMale(size),
            "hose-f" => Self::HoseFemale(size),
            "hose-m" => Self::HoseMale(size),
            "barb" => Self::Barb(size),
            "compression" => Self::Compression(size),
            "tube" => {
                let (bore, outside) = size.split_once('/').ok_or_else(refused)?;
                Self::Tube {
                    bore: bore.to_owned(),
                    outside: outside.to_owned(),
                }
            }
            _ => return Err(refused()),
        })
    }
}

impl serde::Serialize for Joint {
    fn serialize<S: serde::Serializer>(&self, sink: S) -> Result<S::Ok, S::Error> {
        sink.collect_str(self)
    }
}

impl<'de> serde::Deserialize<'de> for Joint {
    fn deserialize<D: serde::Deserializer<'de>>(source: D) -> Result<Self, D::Error> {
        let text = <std::borrow::Cow<'_, str>>::deserialize(source)?;
        text.parse().map_err(serde::de::Error::custom)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn joint(text: &str) -> Joint {
        text.parse().unwrap()
    }

    #[test]
    fn ends_mate_by_system_gender_and_size() {
        assert!(joint("slip-socket 3/4").mates(&joint("slip-spigot 3/4")));
        assert!(!joint("slip-socket 3/4").mates(&joint("slip-socket 3/4")));
        assert!(!joint("thread-f 3/4").mates(&joint("hose-m 3/4")));
        assert!(joint("barb 15.24").mates(&joint("tube 15.24/17.78")));
    }

    #[test]
    fn two_half_inch_tubings_do_not_take_one_barb() {
        let barb = joint("barb 15.24");
        assert!(!barb.mates(&joint("tube 15.75/18.03")));
    }

    #[test]
    fn an_end_reads_back_as_written() {
        for text in ["slip-socket 1-1/4", "tube 15.24/17.78", "hose-f 3/4"] {
            assert_eq!(joint(text).to_string(), text);
        }
        assert!("socket".parse::<Joint>().is_err());
    }
}
