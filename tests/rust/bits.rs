//! Everything that is promised to have the same bits everywhere has those that are pinned, on every
//! instruction set of this machine.

#[path = "../bits/everything.rs"]
mod everything;

#[test]
fn everything_has_the_bits_that_are_pinned() {
    let found = everything::digests();
    let differing = everything::differences(&found);
    // a change is value-breaking and must be announced; `cargo run --example bits` prints the new ones
    assert!(
        differing.is_empty(),
        "differs: {differing:?}; found\n{found}"
    );
}
