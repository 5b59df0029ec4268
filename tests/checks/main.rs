//! Everything that can be checked without a window: validation tables, black-box runs, properties, the house rules.

// `cfg(test)` tells the linter that helpers may unwrap, as tests do.
#[cfg(test)]
mod contact_properties;
#[cfg(test)]
mod contact_validation;
