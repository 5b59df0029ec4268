//! Paper: the report tree and the drawings as PDF and PNG.
//!
//! Apart from the rest so that only print work pays for the typesetter. Nothing is computed here; nothing is read from the
//! machine: no fonts, no clock, no files.

mod pdf;
mod png;

pub use pdf::{Pdf, pdf};
pub use png::{PNG_DPI, png};

/// Why there is no paper. The causes are for developers; people get one sentence.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
pub enum PrintError {
    /// The typesetter refused the report.
    #[error("The PDF could not be made: {0}")]
    Typeset(String),
    /// A date that is none.
    #[error("\"{0}\" is not a date; expected one such as 2027-05-14.")]
    Date(String),
    /// The picture could not be painted.
    #[error("The picture could not be made: {0}")]
    Picture(String),
}
