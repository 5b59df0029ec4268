//! An opaque colour of eight bits a channel.

/// A colour, opaque.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Colour {
    /// Red.
    pub r: u8,
    /// Green.
    pub g: u8,
    /// Blue.
    pub b: u8,
}

impl Colour {
    /// Black, for a token that is missing: it is seen at once, and a test looks for it.
    pub(super) const MISSING: Self = Self { r: 0, g: 0, b: 0 };

    /// `#RRGGBB`.
    #[must_use]
    pub fn hex(self) -> String {
        format!("#{:02X}{:02X}{:02X}", self.r, self.g, self.b)
    }

    pub(super) fn parse(text: &str) -> Option<Self> {
        let digits = text.strip_prefix('#').filter(|digits| digits.len() == 6)?;
        let part = |from: usize| u8::from_str_radix(digits.get(from..from + 2)?, 16).ok();
        Some(Self {
            r: part(0)?,
            g: part(2)?,
            b: part(4)?,
        })
    }

    /// A colour between two, `share` of the way.
    #[must_use]
    pub fn between(self, other: Self, share: f64) -> Self {
        let mix = |a: u8, b: u8| {
            let value = f64::from(a) + (f64::from(b) - f64::from(a)) * share.clamp(0.0, 1.0);
            #[expect(
                clippy::cast_possible_truncation,
                clippy::cast_sign_loss,
                reason = "between two bytes"
            )]
            let byte = value.round() as u8;
            byte
        };
        Self {
            r: mix(self.r, other.r),
            g: mix(self.g, other.g),
            b: mix(self.b, other.b),
        }
    }
}
