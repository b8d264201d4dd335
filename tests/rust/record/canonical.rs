//! The canonical form and its digest, by published vectors.

use crate::support::{json, number};
use flowdoubt::record::{canonical_json, sha256};
use serde_json::Value;

#[test]
fn canonical_form_meets_the_vectors_of_rfc_8785() {
    let published = json("published/canonical.json");
    for row in published["numbers"]["values"].as_array().expect("rows") {
        let bits = u64::from_str_radix(row[0].as_str().expect("bits"), 16).expect("bits");
        let found = canonical_json(&f64::from_bits(bits)).expect("finite");
        assert_eq!(String::from_utf8(found).expect("UTF-8"), row[1], "{bits:x}");
    }
    for row in published["documents"]["values"].as_array().expect("rows") {
        let value: Value = serde_json::from_str(row[0].as_str().expect("text")).expect("JSON");
        let found = canonical_json(&value).expect("canonical");
        assert_eq!(String::from_utf8(found).expect("UTF-8"), row[1]);
    }
    for bits in [0x7fff_ffff_ffff_ffff, 0x7ff0_0000_0000_0000] {
        assert!(canonical_json(&f64::from_bits(bits)).is_err(), "{bits:x}");
    }
}

#[test]
fn digests_meet_the_examples_of_fips_180_4() {
    let published = json("published/canonical.json");
    for row in published["sha256"]["values"].as_array().expect("rows") {
        let times = number(&row[1]) as usize;
        let text = row[0].as_str().expect("text").repeat(times);
        assert_eq!(sha256(text.as_bytes()), row[2]);
    }
}
