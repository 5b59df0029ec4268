//! Turns the report tree and the drawings of the core into paper.
