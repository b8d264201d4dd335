//! The canonical form of JSON and its digest.

use crate::error::{Error, Result};
use serde::Serialize;
use sha2::{Digest, Sha256};
use std::fmt::Write as _;

/// The canonical form of a value as JSON: keys sorted, numbers as ECMAScript writes them, no
/// spaces.
///
/// # Errors
/// A value that has no form in JSON, such as NaN.
///
/// # Source
/// RFC 8785.
pub fn canonical_json(value: &impl Serialize) -> Result<Vec<u8>> {
    serde_json_canonicalizer::to_vec(value).map_err(|error| Error::Syntax {
        format: "JSON",
        reason: error.to_string(),
    })
}

/// SHA-256 in hexadecimal digits.
///
/// # Source
/// FIPS 180-4.
///
/// # Example
/// ```
/// let digest = flowdoubt::record::sha256(b"abc");
/// assert!(digest.starts_with("ba7816bf8f01cfea414140de5dae2223")); // FIPS 180-4, example
/// ```
pub fn sha256(bytes: &[u8]) -> String {
    let mut text = String::with_capacity(64);
    for byte in Sha256::digest(bytes) {
        // writing to a String cannot fail
        let _ = write!(text, "{byte:02x}");
    }
    text
}
