//! Starts the application.

fn main() {}
