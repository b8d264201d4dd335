//! Prints a digest of everything that is promised to be the same on every machine, item by item.
//!
//! ```sh
//! cargo run --example bits              # differs from tests/bits/digests.txt: exit status 1
//! FLOWDOUBT_INSTRUCTION_SET=baseline cargo run --example bits
//! ```
//!
//! Everything that is read is in the program, so that it runs where there are no files.

mod everything;

use std::process::ExitCode;

fn main() -> ExitCode {
    let found = everything::digests();
    print!("{found}");
    match everything::differences(&found) {
        differences if differences.is_empty() => {
            println!("as pinned");
            ExitCode::SUCCESS
        }
        differences => {
            println!(
                "DIFFERS from tests/bits/digests.txt: {}",
                differences.join("; ")
            );
            ExitCode::FAILURE
        }
    }
}
