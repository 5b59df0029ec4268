//! The window without a display: what a person does with pointer and keys, and what the screen and the tree then say.

#[cfg(test)]
mod asking;
#[cfg(test)]
mod deciding;
#[cfg(test)]
mod dialogs;
#[cfg(test)]
mod driver;
#[cfg(test)]
mod editing;
mod facts;
#[cfg(test)]
mod heads;
#[cfg(test)]
mod levels;
#[cfg(test)]
mod reading;
#[cfg(test)]
mod readings;
#[cfg(test)]
mod sizing;
#[cfg(test)]
mod yard;
