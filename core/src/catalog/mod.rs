//! What plans are made of, as read-only tables built into the program; each row names its source and how it is known.

pub mod crops;
