//! Fingerprints: SHA-256 of canonical JSON.

use serde::Serialize;
use sha2::{Digest, Sha256};

use super::writer;
use crate::model::Plan;

/// The fingerprint of a design: it changes with anything drawn or declared, and with nothing else (no review, no season,
/// no prices, no view).
#[must_use]
pub fn fingerprint(plan: &Plan) -> String {
    of_json(plan)
}

/// SHA-256 of the canonical JSON of a value, in hexadecimal.
pub(crate) fn of_json(value: &impl Serialize) -> String {
    sha256_hex(&writer::pretty(value))
}

/// SHA-256 of bytes, in hexadecimal.
#[must_use]
pub fn sha256_hex(bytes: &[u8]) -> String {
    Sha256::digest(bytes)
        .iter()
        .map(|byte| format!("{byte:02x}"))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_hash_of_abc_is_that_of_the_standard() {
        // FIPS 180-4, example B.1 (from memory).
        assert_eq!(
            sha256_hex(b"abc"),
            "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
        );
    }
}
