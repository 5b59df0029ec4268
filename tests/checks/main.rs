//! Everything that can be checked without a window: validation tables, black-box runs, properties, the house rules.
