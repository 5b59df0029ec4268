//! How ends of pipes and lines are joined: by naming the port or tap, never by standing at the same place.

use std::fmt;
use std::str::FromStr;

use crate::ids::Id;

/// A port of an object: `D3.in`, `B1.in`, `S1.out`, or a tap on a pipe: `P4.t1`.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub struct PortRef {
    /// The object.
    pub object: Id,
    /// The name of the port on it.
    pub port: String,
}

impl PortRef {
    /// A reference from its parts.
    #[must_use]
    pub fn new(object: Id, port: impl Into<String>) -> Self {
        Self {
            object,
            port: port.into(),
        }
    }
}

impl fmt::Display for PortRef {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}.{}", self.object, self.port)
    }
}

/// The text names no port.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("\"{0}\" is not an end: expected open, cap, flush, or a port such as D3.in or P4.t1")]
pub struct NotAnEnd(String);

impl FromStr for PortRef {
    type Err = NotAnEnd;
    fn from_str(text: &str) -> Result<Self, NotAnEnd> {
        let refused = || NotAnEnd(text.to_owned());
        let (object, port) = text.split_once('.').ok_or_else(refused)?;
        let object = object.parse().map_err(|_| refused())?;
        let named = !port.is_empty() && port.bytes().all(|byte| byte.is_ascii_alphanumeric());
        if named {
            Ok(Self::new(object, port))
        } else {
            Err(refused())
        }
    }
}

/// One end of a pipe run or an emitter line.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub enum End {
    /// Not finished: the next thing to draw.
    #[default]
    Open,
    /// Closed for good or for later: no flow, and no finding.
    Cap,
    /// Closed by a part that opens for rinsing.
    Flush,
    /// Joined to a port.
    At(PortRef),
}

impl End {
    /// The port it is joined to.
    #[must_use]
    pub const fn port(&self) -> Option<&PortRef> {
        match self {
            Self::At(port) => Some(port),
            Self::Open | Self::Cap | Self::Flush => None,
        }
    }
}

impl fmt::Display for End {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Open => f.write_str("open"),
            Self::Cap => f.write_str("cap"),
            Self::Flush => f.write_str("flush"),
            Self::At(port) => port.fmt(f),
        }
    }
}

impl FromStr for End {
    type Err = NotAnEnd;
    fn from_str(text: &str) -> Result<Self, NotAnEnd> {
        match text {
            "open" => Ok(Self::Open),
            "cap" => Ok(Self::Cap),
            "flush" => Ok(Self::Flush),
            port => port.parse().map(Self::At),
        }
    }
}

/// Writes and reads a type through its text form.
macro_rules! serde_as_text {
    ($Name:ty) => {
        impl serde::Serialize for $Name {
            fn serialize<S: serde::Serializer>(&self, sink: S) -> Result<S::Ok, S::Error> {
                sink.collect_str(self)
            }
        }
        impl<'de> serde::Deserialize<'de> for $Name {
            fn deserialize<D: serde::Deserializer<'de>>(source: D) -> Result<Self, D::Error> {
                let text = <std::borrow::Cow<'_, str>>::deserialize(source)?;
                text.parse().map_err(serde::de::Error::custom)
            }
        }
    };
}
serde_as_text!(PortRef);
serde_as_text!(End);

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ends_read_back_as_written() {
        for text in ["open", "cap", "flush", "D3.in", "P4.t12"] {
            assert_eq!(
                text.parse::<End>().map(|end| end.to_string()).as_deref(),
                Ok(text)
            );
        }
        for text in ["", "D3", "D3.", "X1.in", "D3.in.out", "opened"] {
            assert!(text.parse::<End>().is_err(), "{text}");
        }
    }
}
