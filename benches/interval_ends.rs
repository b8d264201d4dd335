//! How well random trials and points of low discrepancy know the ends of the 95 % interval of the
//! demonstration: the table of `notebooks/validation.md`, and the reason why points decide clause 8 of
//! JCGM 101 where trials do not.

use flowdoubt::evaluate::Readings;
use flowdoubt::montecarlo::{Interval, LowDiscrepancy, MonteCarlo, Validation};
use flowdoubt::site::Site;
use std::time::Instant;

/// What a comparison says, everything over the tolerance.
fn row(name: &str, found: &Validation, seconds: f64) {
    println!(
        "| {name} | {} | {:.3} +/- {:.3} | {:.3} +/- {:.3} | {} | {seconds:.2} s |",
        found.trials,
        found.low_difference / found.tolerance,
        found.low_standard_error / found.tolerance,
        found.high_difference / found.tolerance,
        found.high_standard_error / found.tolerance,
        found.verdict.in_words(),
    );
}

fn main() -> flowdoubt::Result<()> {
    let site = Site::load("notebooks/demo/site.toml")?;
    let evaluation = site.evaluate(&Readings::from_csv("notebooks/demo/readings.csv")?)?;
    let (budget, p) = (&evaluation.budget, site.coverage_probability);
    let Interval { low, high } = Interval::of_budget(budget, p)?.shown_in(&budget.output.unit);
    println!(
        "first order {low:.2} to {high:.2} {}\n",
        budget.output.unit.symbol
    );
    println!(
        "| ends from | number | lower end differs by | upper end differs by | verdict | time |"
    );
    println!("|---|---|---|---|---|---|");
    for trials in [100_000, 1_000_000, 10_000_000] {
        let start = Instant::now();
        let run = MonteCarlo {
            trials,
            ..MonteCarlo::default()
        };
        let summary = evaluation.monte_carlo(run)?;
        let found = Validation::of(budget, &summary, p, 2)?;
        row("random trials", &found, start.elapsed().as_secs_f64());
    }
    for points in [1 << 12, 1 << 14, 1 << 16, 1 << 18] {
        let start = Instant::now();
        let run = LowDiscrepancy {
            points,
            coverage_probability: p,
            ..LowDiscrepancy::default()
        };
        let run = run.run(&evaluation.model, &evaluation.inputs)?;
        let found = Validation::of_points(budget, &run, 2)?;
        row("points", &found, start.elapsed().as_secs_f64());
    }
    Ok(())
}
