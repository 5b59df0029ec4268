//! What the printer must hold, read back from its own output.

#[cfg(test)]
mod pdf;
