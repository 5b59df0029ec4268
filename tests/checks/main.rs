//! Everything that can be checked without a window: validation tables, black-box runs, properties, the house rules.

#[cfg(test)]
mod beds;
#[cfg(test)]
mod check_schema;
#[cfg(test)]
mod command_line;
#[cfg(test)]
mod contact_motion;
#[cfg(test)]
mod contact_named;
#[cfg(test)]
mod contact_plans;
#[cfg(test)]
mod contact_properties;
#[cfg(test)]
mod contact_validation;
#[cfg(test)]
mod coverage;
#[cfg(test)]
mod drawing;
#[cfg(test)]
mod edit_properties;
#[cfg(test)]
mod editing;
#[cfg(test)]
mod elements;
#[cfg(test)]
mod evidence;
#[cfg(test)]
mod file_round_trip;
#[cfg(test)]
mod goldens;
#[cfg(test)]
mod hydraulics_bench;
#[cfg(test)]
mod hydraulics_degenerate;
#[cfg(test)]
mod hydraulics_properties;
#[cfg(test)]
mod hydraulics_validation;
#[cfg(test)]
mod layout;
#[cfg(test)]
#[cfg(test)]
mod letter;
#[cfg(test)]
mod levels;
#[cfg(test)]
mod margin;
#[cfg(test)]
mod number_entry;
#[cfg(test)]
mod paper;
#[cfg(test)]
mod quince;
#[cfg(test)]
mod rules;
#[cfg(test)]
mod saltbush;
#[cfg(test)]
mod sample_fixes;
#[cfg(test)]
mod sample_plans;
#[cfg(test)]
mod site_checks;
#[cfg(test)]
mod sizing;
#[cfg(test)]
mod tidy;
#[cfg(test)]
mod tidy_data;
#[cfg(test)]
mod validation_counts;
#[cfg(test)]
mod working;
