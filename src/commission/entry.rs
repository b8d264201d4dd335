//! A step of commissioning: what to do, what to note, what it should show.

use crate::error::{Error, Result};
use crate::model::Quantity;
use crate::uncertainty::{Input, Origin, effective_dof, expanded, plain, rounded, rounded_pair};
use crate::units::{Dimension, Unit};

/// A step.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct Step {
    /// Its name in the form.
    pub key: &'static str,
    /// What it is, in few words.
    pub title: &'static str,
    /// What to do.
    pub words: String,
    /// Whether it follows common practice, without a source.
    pub common_practice: bool,
    /// What to note, with what it should be.
    pub entries: Vec<Entry>,
    /// What must be answered with yes.
    pub questions: Vec<Question>,
    /// What to look at first where it does not show what it should.
    pub look_at: &'static str,
}

/// What must be answered with yes.
#[derive(Debug, Clone, PartialEq, Eq)]
#[non_exhaustive]
pub struct Question {
    /// Its name in the form.
    pub key: &'static str,
    /// The question.
    pub words: &'static str,
}

/// What is to be noted. Numbers are in SI units.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct Entry {
    /// Its name in the form.
    pub key: &'static str,
    /// What it is.
    pub words: &'static str,
    /// The quantity of the site as which it is read.
    pub quantity: Quantity,
    /// The unit in which it is shown.
    pub unit: Unit,
    /// What the site leads to expect; none where nothing can be expected.
    pub expected: Option<f64>,
    /// The standard uncertainty of a reading less what is expected; none without limits.
    pub standard_uncertainty: Option<f64>,
    /// The limits within which a reading should lie; none where nothing is known of its uncertainty.
    pub limits: Option<[f64; 2]>,
    /// Where expected value and limits come from.
    pub from: String,
    /// Standard uncertainties of the expected value, each with its degrees of freedom.
    known: Parts,
    coverage_probability: f64,
}

/// Standard uncertainties that are independent of each other, each with its degrees of freedom.
pub(super) type Parts = Vec<(f64, f64)>;

/// What is known of an entry, and with which uncertainty it will be read.
#[derive(Debug, Clone, Default)]
pub(super) struct Expectation {
    /// Uncertainties of the expected value.
    pub(super) known: Parts,
    /// Those of a reading less the expected value.
    pub(super) with_reading: Parts,
}

impl Expectation {
    /// Of independent uncertainties of expected value and reading.
    pub(super) fn of(known: Parts, reading: Parts) -> Expectation {
        let with_reading = known.iter().copied().chain(reading).collect();
        Expectation {
            known,
            with_reading,
        }
    }

    /// Of a stated quantity that is read once more, with an instrument as good as that of the survey;
    /// with the same one, whose error both readings share, the limits are wider than they need be.
    /// Where it was stated by readings, another one scatters as these did:
    ///
    /// ```text
    /// u^2 = s^2 + s^2 / n, with n - 1 degrees of freedom
    /// ```
    pub(super) fn read_again<'a>(terms: impl Iterator<Item = &'a Input>) -> Expectation {
        let mut found = Expectation::default();
        for input in terms {
            let (u, dof) = (input.standard_uncertainty(), input.dof());
            found.known.push((u, dof));
            let with_reading = match input.origin() {
                Origin::Readings {
                    standard_deviation, ..
                } => libm::hypot(*standard_deviation, u),
                _ if input.name().ends_with(".instrument") => std::f64::consts::SQRT_2 * u,
                _ => u,
            };
            found.with_reading.push((with_reading, dof));
        }
        found
    }
}

/// The combined standard uncertainty of parts with its coverage factor; none without any.
fn combined(parts: &[(f64, f64)], coverage_probability: f64) -> Result<Option<(f64, f64)>> {
    let u = parts.iter().map(|(u, _)| u * u).sum::<f64>().sqrt();
    if u == 0.0 || !u.is_finite() {
        return Ok(None);
    }
    let dof = effective_dof(u, parts.iter().copied());
    let factor = expanded(u, dof, coverage_probability)?.coverage_factor;
    Ok(Some((u, factor)))
}

impl Entry {
    pub(super) fn new(
        key: &'static str,
        words: &'static str,
        (quantity, unit): (Quantity, Unit),
        coverage_probability: f64,
    ) -> Entry {
        Entry {
            key,
            words,
            quantity,
            unit,
            expected: None,
            standard_uncertainty: None,
            limits: None,
            from: String::new(),
            known: Parts::new(),
            coverage_probability,
        }
    }

    /// With what it should be; `from` says where that comes from.
    pub(super) fn expecting(
        mut self,
        expected: f64,
        of: Expectation,
        from: impl Into<String>,
    ) -> Result<Entry> {
        self.expected = Some(expected).filter(|value| value.is_finite());
        self.from = from.into();
        let found = combined(&of.with_reading, self.coverage_probability)?;
        if let (Some(expected), Some((u, factor))) = (self.expected, found) {
            self.standard_uncertainty = Some(u);
            self.limits = Some([expected - factor * u, expected + factor * u]);
        }
        self.known = of.known;
        Ok(self)
    }

    /// Standard uncertainty and limits for a reading with an uncertainty of its own.
    pub(super) fn for_reading(&self, reading: Parts) -> Result<(Option<f64>, Option<[f64; 2]>)> {
        let (Some(expected), Some(_)) = (self.expected, self.limits) else {
            return Ok((None, None));
        };
        if reading.iter().all(|(u, _)| *u == 0.0) {
            return Ok((self.standard_uncertainty, self.limits));
        }
        let parts: Parts = self.known.iter().copied().chain(reading).collect();
        Ok(match combined(&parts, self.coverage_probability)? {
            Some((u, factor)) => (
                Some(u),
                Some([expected - factor * u, expected + factor * u]),
            ),
            None => (None, None),
        })
    }

    /// Refuses what cannot be read there, whatever the site.
    pub(super) fn check(&self, field: &str, si: f64, unit: &Unit) -> Result<()> {
        let (inside, allowed) = self.quantity.row().allowed.judge(si, unit);
        Error::range(inside, field, unit.from_si(si), &unit.symbol, allowed)
    }

    /// A value in words, rounded to the standard uncertainty of the entry.
    pub fn shown(&self, si: f64) -> String {
        let number = self.number(si);
        match self.unit.symbol.as_ref() {
            "1" => number,
            _ => self.unit.after(&number),
        }
    }

    fn number(&self, si: f64) -> String {
        let value = self.unit.from_si(si);
        match self.standard_uncertainty {
            Some(u) => rounded_pair(value, self.unit.difference_from_si(u)).0,
            None => in_four_digits(value),
        }
    }

    /// What it should be, in words; empty where nothing is expected.
    pub fn expected_in_words(&self) -> String {
        let Some(expected) = self.expected else {
            return String::new();
        };
        match self.limits {
            None => self.shown(expected),
            Some([low, high]) => format!(
                "{}, within {} to {}",
                self.shown(expected),
                self.number(low),
                self.shown(high)
            ),
        }
    }
}

/// A number of which no uncertainty is known.
pub(super) fn in_four_digits(value: f64) -> String {
    let rounded = rounded(value, 4);
    rounded.parse().map_or(rounded, plain)
}

/// A unit by its symbol; the table of units has all that are asked for here.
pub(super) fn unit(symbol: &str, dimension: Dimension) -> Unit {
    Unit::parse(symbol, dimension, "unit").unwrap_or_else(|_| dimension.si_unit())
}
