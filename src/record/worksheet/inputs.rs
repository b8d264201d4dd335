//! The inputs: from readings and statements to estimates and standard uncertainties.

use super::Lines;
use super::number::{DIGITS_PUT_IN, shown};
use crate::derivation::Step;
use crate::evaluate::Evaluation;
use crate::model::words_of;
use crate::uncertainty::{Input, Origin};

/// Adds the lines of all inputs.
pub(super) fn add(evaluation: &Evaluation, symbols: &[String], lines: &mut Lines) {
    let terms = evaluation.model.terms();
    for ((input, symbol), quantity) in evaluation.inputs.inputs().iter().zip(symbols).zip(terms) {
        let words = format!("{} ({})", words_of(*quantity), input.name());
        estimate(input, symbol, words, lines);
        uncertainty(input, symbol, lines);
    }
}

fn estimate(input: &Input, symbol: &str, words: String, lines: &mut Lines) {
    let unit = input.unit().si_symbol.clone();
    let step = |equation: String| {
        Step::new(
            symbol.to_owned(),
            words.clone(),
            equation,
            input.estimate(),
            unit.clone(),
        )
        .from(input.evidence().to_owned())
    };
    match input.origin() {
        Origin::Readings { kept, .. } if !kept.is_empty() => {
            let sum: Vec<String> = kept.iter().map(|r| number(*r)).collect();
            lines.add(step(format!("({})/{}", sum.join(" + "), kept.len())));
        }
        Origin::Readings { count, .. } => {
            lines.add(step(String::new()).found(format!("mean of {count} readings")));
        }
        Origin::Distribution => {
            lines.add(step(String::new()).found("mean of its distribution"));
        }
        _ => lines.add(step(String::new()).found("from its source")),
    }
}

/// A number within an equation.
fn number(value: f64) -> String {
    let text = shown(value, DIGITS_PUT_IN);
    if value < 0.0 {
        format!("({text})")
    } else {
        text
    }
}

fn uncertainty(input: &Input, symbol: &str, lines: &mut Lines) {
    const TYPE_A: &str = "JCGM 100:2008, 4.2";
    const IN_TIME: &str = "readings that depend on each other in time, JCGM 100:2008, 4.2.7";
    let unit = input.unit().of_differences();
    let si = match unit.si_symbol.as_ref() {
        "degC" => "K".to_owned(),
        si => si.to_owned(),
    };
    let words = format!("standard uncertainty of {symbol}");
    let value = input.standard_uncertainty();
    let step = |equation: String| {
        Step::new(
            format!("u({symbol})"),
            words.clone(),
            equation,
            value,
            si.clone(),
        )
    };
    match input.origin() {
        Origin::Exact => lines.add(step(String::new()).found("taken as exact")),
        Origin::Standard => {
            let step = step(String::new()).found("from its source");
            lines.add(step.from(input.evidence().to_owned()));
        }
        Origin::Distribution => {
            lines.add(step(String::new()).found("standard deviation of its distribution"));
        }
        Origin::Expanded {
            expanded,
            coverage_factor,
        } => {
            let equation = format!("{}/{}", number(*expanded), number(*coverage_factor));
            lines.add(
                step(equation)
                    .from("expanded uncertainty over coverage factor, JCGM 100:2008, 4.3.3"),
            );
        }
        Origin::HalfWidth {
            half_width,
            divisor_square,
        } => {
            let equation = format!("{}/sqrt({divisor_square})", number(*half_width));
            let source = format!(
                "half-width, {} distribution, JCGM 100:2008, 4.3",
                input.distribution().name()
            );
            lines.add(step(equation).from(source));
        }
        Origin::Readings {
            count,
            standard_deviation,
            kept,
            effective_count,
            from_damping,
        } => {
            let words = format!("standard deviation of the readings of {symbol}");
            let s = format!("s({symbol})");
            let squares: Vec<String> = kept
                .iter()
                .map(|r| format!("({} - {symbol})^2", number(*r)))
                .collect();
            let equation = format!("sqrt(({})/({count} - 1))", squares.join(" + "));
            let deviation = Step::new(s.clone(), words, equation, *standard_deviation, si.clone());
            let deviation = deviation.from(TYPE_A);
            lines.add(if kept.is_empty() {
                deviation.found(format!("of {count} readings"))
            } else {
                deviation
            });
            if *effective_count == *count as f64 {
                lines.add(step(format!("{s}/sqrt({count})")).from(TYPE_A));
            } else {
                let n = format!("n_eff({symbol})");
                let words = format!("effective number of independent readings of {symbol}");
                let way = if *from_damping {
                    "from the damping of the meter"
                } else {
                    "from the spectrum of the readings near frequency zero"
                };
                let effective = Step::new(n.clone(), words, "", *effective_count, "1");
                lines.add(effective.found(way).from(IN_TIME));
                let equation = format!("{s}*sqrt(({count} - 1)/({count}*({n} - 1)))");
                lines.add(step(equation).from(IN_TIME));
            }
        }
    }
    if input.dof().is_finite() {
        let words = format!("degrees of freedom of u({symbol})");
        let step = Step::new(format!("dof({symbol})"), words, "", input.dof(), "1");
        lines.add(match input.origin() {
            Origin::Readings {
                from_damping: true, ..
            } => step.found("from the damping of the meter").from(IN_TIME),
            Origin::Readings {
                count,
                effective_count,
                ..
            } if *effective_count < *count as f64 => {
                step.found("number of terms of the spectrum").from(IN_TIME)
            }
            Origin::Readings { count, .. } => {
                let equation = format!("{count} - 1");
                Step {
                    way: crate::derivation::Way::Equation(equation.into()),
                    ..step
                }
                .from(TYPE_A)
            }
            _ => step
                .found("from its source")
                .from(input.evidence().to_owned()),
        });
    }
}
