//! Everything that can be checked without a window: validation tables, black-box runs, properties, the house rules.

#[cfg(test)]
mod contact_properties;
#[cfg(test)]
mod contact_validation;
#[cfg(test)]
mod hydraulics_properties;
#[cfg(test)]
mod hydraulics_validation;
#[cfg(test)]
mod paper;
#[cfg(test)]
mod sample_plans;
