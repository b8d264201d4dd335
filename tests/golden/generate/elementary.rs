//! Elementary functions of numbers from standard input, bit by bit, for comparison with arbitrary
//! precision (`tests/golden/generate/elementary.py`).
//!
//! Each line is the name of a function and its arguments, as hexadecimal bits; the answer is the
//! bits of the value.

#[path = "../../rust/scalar/elementary_functions.rs"]
mod elementary_functions;

use elementary_functions::value;
use std::io::{BufRead, Write};

fn main() {
    let mut out = std::io::BufWriter::new(std::io::stdout().lock());
    for line in std::io::stdin().lock().lines() {
        let line = line.expect("a line");
        let mut words = line.split(' ');
        let function = words.next().expect("a function");
        let mut argument = || {
            let bits = words
                .next()
                .map(|w| u64::from_str_radix(w, 16).expect("bits"));
            f64::from_bits(bits.unwrap_or(0))
        };
        let (x, y) = (argument(), argument());
        writeln!(out, "{:016x}", value(function, x, y).to_bits()).expect("output");
    }
}
