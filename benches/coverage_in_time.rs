//! How often the 95 % interval of the mean of correlated readings covers, and how wide it is: the
//! table of `benches/README.md` at its full size.

#[allow(dead_code, reason = "the tests use more of it")]
#[path = "../tests/rust/support/noise.rs"]
mod noise;

use noise::{Noise, intervals};

const READINGS: usize = 360;
const SERIES: usize = 4000;

fn main() {
    println!("{SERIES} series of {READINGS} readings each\n");
    println!(
        "| noise | coverage | false alarms | median width / ideal | n_eff found | n_eff exact | coverage of s/sqrt(n) |"
    );
    println!("|---|---|---|---|---|---|---|");
    for noise in Noise::kinds() {
        let found = intervals(noise, READINGS, SERIES);
        println!(
            "| {} | {:.1} % | {:.1} % | {:.2} | {:.0} | {:.0} | {:.0} % |",
            noise.in_words(),
            100.0 * found.coverage,
            100.0 * (1.0 - found.coverage),
            found.width,
            found.effective,
            found.exact,
            100.0 * found.naive,
        );
    }
}
