//! How often the interval would hold the truth if statements are right, and how seldom if one is wrong.

use super::Evaluation;
use crate::error::{Error, Result};
use crate::model::SiteModel;
use crate::montecarlo::MonteCarlo;
use crate::scalar::Scalar;
use crate::uncertainty::{Input, MeasurementModel, Output, rounded};
use crate::units::{Unit, difference};
use crate::watch::{Watch, unwatched};

/// Share of the variance from which a statement is tried unasked.
const WORTH_TRYING: f64 = 1e-3;
/// Standard uncertainties by which a statement is taken to be wrong unasked.
const USUAL: f64 = 2.0;

/// A statement that is taken to be wrong.
#[derive(Debug, Clone, PartialEq)]
pub struct WrongStatement {
    /// Name of the input.
    pub input: String,
    /// True value less the stated one, in SI units.
    pub by: f64,
}

/// A wrong statement, and what comes of it.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct Stress {
    /// Name of the input.
    pub input: String,
    /// True value less the stated one, in SI units.
    pub by: f64,
    /// The unit in which it is shown.
    pub unit: Unit,
    /// The same in standard uncertainties of the statement; `None` for an exact one.
    pub in_standard_uncertainties: Option<f64>,
    /// Share of the truths that the interval holds then.
    pub held: f64,
    /// Estimate less the mean truth, over the estimate: the error of the result.
    pub relative_error: f64,
}

/// What made-up truths say of an interval.
///
/// Truths are drawn as the site file states every quantity, with the readings as they were read or
/// planned. The interval is that of first order. It should hold the stated share of them; where it holds
/// less, first order is not good enough. Then one statement after the other is taken to be wrong.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct StressTest {
    /// Share of the truths that the interval should hold.
    pub coverage_probability: f64,
    /// Share of the truths that it holds if all statements are right.
    pub held: f64,
    /// Standard error of the shares by the number of trials, at the coverage probability.
    pub standard_error: f64,
    /// Number of truths.
    pub trials: u64,
    /// What comes of wrong statements; the most harmful first.
    pub stresses: Vec<Stress>,
}

/// The model with one input away from where it is drawn.
struct Displaced<'a> {
    model: &'a SiteModel,
    place: usize,
    by: f64,
}

impl MeasurementModel for Displaced<'_> {
    type Outputs<S: Scalar> = [S; 1];

    fn outputs(&self) -> Vec<Output> {
        self.model.outputs()
    }

    fn evaluate<S: Scalar>(&self, x: &[S]) -> Result<[S; 1]> {
        let mut x = x.to_vec();
        if let Some(own) = x.get_mut(self.place) {
            *own += self.by;
        }
        self.model.evaluate(&x)
    }
}

impl Evaluation {
    /// A statement that is wrong by a difference in words, such as `0.3 mm` or `-2 %` of the estimate.
    ///
    /// # Errors
    /// An input that the evaluation has not; text that is no difference of its kind.
    pub fn wrong_statement(&self, input: &str, by: &str) -> Result<WrongStatement> {
        let place = self.place_of(input)?;
        let estimate = self.inputs.inputs()[place].estimate();
        let dimension = self.model.terms()[place].dimension();
        Ok(WrongStatement {
            input: input.to_owned(),
            by: difference(by, estimate, dimension, &format!("wrong.{input}"))?,
        })
    }

    fn place_of(&self, input: &str) -> Result<usize> {
        let inputs = self.inputs.inputs();
        let place = inputs.iter().position(|own| own.name() == input);
        place.ok_or_else(|| {
            let names: Vec<&str> = inputs.iter().map(Input::name).collect();
            Error::unknown_name("wrong", input, &names)
        })
    }

    /// How often the interval holds made-up truths, all statements right, and one of them wrong.
    ///
    /// Without a list, every input with a thousandth of the variance or more is wrong by two of its
    /// standard uncertainties in turn.
    ///
    /// # Errors
    /// An input that the evaluation has not; a displacement that is not finite; those of
    /// [`Evaluation::expanded`] and of a Monte Carlo run.
    ///
    /// # Example
    /// ```
    /// use flowdoubt::{evaluate::{Readings, WrongStatement}, montecarlo::MonteCarlo, site::Site};
    /// let site = Site::load("notebooks/demo/site.toml")?;
    /// let evaluation = site.evaluate(&Readings::from_csv("notebooks/demo/readings.csv")?)?;
    /// let run = MonteCarlo { trials: 20_000, ..MonteCarlo::default() };
    /// let wrong = [WrongStatement { input: "pipe.wall".into(), by: -2e-3 }];
    /// let found = evaluation.stress_test(&run, &wrong)?;
    /// assert!(found.held > 0.94);
    /// assert!(found.stresses[0].held < found.held);
    /// # Ok::<(), flowdoubt::Error>(())
    /// ```
    pub fn stress_test(&self, run: &MonteCarlo, wrong: &[WrongStatement]) -> Result<StressTest> {
        self.stress_test_watched(run, wrong, &mut unwatched)
    }

    /// As [`Evaluation::stress_test`], with a watch that is told the trials done with a statement and
    /// may end it.
    ///
    /// # Errors
    /// As [`Evaluation::stress_test`]; [`Error::Cancelled`].
    pub fn stress_test_watched(
        &self,
        run: &MonteCarlo,
        wrong: &[WrongStatement],
        watch: &mut Watch<'_>,
    ) -> Result<StressTest> {
        let expanded = self.expanded()?;
        let half_width = expanded.expanded_uncertainty;
        let mut share_of = |place: usize, by: f64| -> Result<(f64, f64)> {
            let model = Displaced {
                model: &self.model,
                place,
                by,
            };
            let trials = run.joint_watched(&model, &self.inputs, watch)?;
            let trials = trials.into_trials().swap_remove(0);
            let inside = |truth: &&f64| (**truth - self.estimate()).abs() <= half_width;
            let held = trials.sorted().iter().filter(inside).count();
            let error = 1.0 - trials.mean / self.estimate();
            Ok((held as f64 / trials.trials() as f64, error))
        };
        let inputs = self.inputs.inputs();
        let usual: Vec<WrongStatement> = if wrong.is_empty() {
            let lines = self.budget.lines.iter();
            let matters = lines.filter(|line| line.share.abs() >= WORTH_TRYING);
            let by = |input: &Input| USUAL * input.standard_uncertainty();
            matters
                .map(|line| WrongStatement {
                    input: line.input.name().to_owned(),
                    by: by(&line.input),
                })
                .collect()
        } else {
            wrong.to_vec()
        };
        let (held, _) = share_of(0, 0.0)?;
        let mut stresses = Vec::new();
        for statement in usual {
            let field = format!("wrong.{}", statement.input);
            let place = self.place_of(&statement.input)?;
            let input = &inputs[place];
            let by = statement.by;
            Error::range(
                by.is_finite(),
                &field,
                by,
                &input.unit().si_symbol,
                "finite",
            )?;
            let (held, relative_error) = share_of(place, by)?;
            stresses.push(Stress {
                input: statement.input,
                by,
                unit: input.unit().of_differences(),
                in_standard_uncertainties: Some(by / input.standard_uncertainty())
                    .filter(|quotient| quotient.is_finite()),
                held,
                relative_error,
            });
        }
        stresses.sort_by(|a, b| a.held.total_cmp(&b.held));
        let p = expanded.coverage_probability;
        let trials = run.trials;
        Ok(StressTest {
            coverage_probability: p,
            held,
            standard_error: (p * (1.0 - p) / trials as f64).sqrt(),
            trials,
            stresses,
        })
    }
}

impl StressTest {
    /// In words, one line for each wrong statement.
    pub fn in_words(&self) -> String {
        let percent = |share: f64| format!("{:.1} %", 100.0 * share);
        let mut text = format!(
            "of {} truths drawn as stated the interval holds {}; it should hold {} (standard error {:.2} %)\n",
            self.trials,
            percent(self.held),
            percent(self.coverage_probability),
            100.0 * self.standard_error,
        );
        for stress in &self.stresses {
            let off = match stress.unit.symbol.as_ref() {
                "" | "1" => format!("{} %", rounded(100.0 * stress.by, 2)),
                _ => {
                    let shown = stress.unit.difference_from_si(stress.by);
                    stress.unit.after(&rounded(shown, 2))
                }
            };
            let stated = match stress.in_standard_uncertainties {
                Some(quotient) => format!("{quotient:+.1} of its standard uncertainties"),
                None => "stated as exact".to_owned(),
            };
            text += &format!(
                "if {} is off by {} ({stated}) it holds {}, and the flow is {:+.2} % wrong\n",
                stress.input,
                off,
                percent(stress.held),
                100.0 * stress.relative_error,
            );
        }
        text
    }
}
