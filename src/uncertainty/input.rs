//! An input quantity: its estimate, its uncertainty and where both come from.

use super::{Autocorrelated, Distribution, TypeA};
use crate::bounds::MAGNITUDES;
use crate::error::{Error, Result};
use crate::message::{Message, Sentence, Told};
use crate::units::Unit;
use serde::{Deserialize, Serialize};
use std::sync::Arc;

/// The shape that is assigned to a half-width when nothing but limits is known, or more.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Shape {
    /// Any value between the limits is as likely as any other.
    Rectangular,
    /// Values near the centre are likelier.
    Triangular,
    /// The quantity cycles between the limits.
    Arcsine,
}

impl Shape {
    const NAMES: [&'static str; 3] = ["rectangular", "triangular", "arcsine"];

    /// The shape of that name.
    ///
    /// # Errors
    /// None of `rectangular`, `triangular` and `arcsine`; the error names `field`.
    pub fn from_name(name: &str, field: &str) -> Result<Shape> {
        match name {
            "rectangular" => Ok(Shape::Rectangular),
            "triangular" => Ok(Shape::Triangular),
            "arcsine" => Ok(Shape::Arcsine),
            _ => Err(Error::unknown_name(field, name, &Self::NAMES)),
        }
    }
}

/// The numbers from which an estimate and its standard uncertainty were found.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[non_exhaustive]
pub enum Origin {
    /// Known exactly.
    Exact,
    /// Stated with its standard uncertainty.
    Standard,
    /// Stated with an expanded uncertainty.
    Expanded {
        /// The expanded uncertainty, in SI units.
        expanded: f64,
        /// The coverage factor.
        coverage_factor: f64,
    },
    /// The middle of limits.
    HalfWidth {
        /// The half-width, in SI units.
        half_width: f64,
        /// The square of half-width over standard uncertainty: 3, 6 or 2.
        divisor_square: f64,
    },
    /// The mean of readings.
    Readings {
        /// Number of readings.
        count: usize,
        /// Their standard deviation, in SI units.
        standard_deviation: f64,
        /// The readings in SI units, where there are [`Origin::MOST_KEPT`] at most.
        kept: Vec<f64>,
        /// The number of independent readings whose mean is known as well.
        effective_count: f64,
        /// Whether stated damping, and not what the readings show, makes it less than `count`.
        from_damping: bool,
    },
    /// Mean and standard deviation of a distribution.
    Distribution,
}

impl Origin {
    /// Number of readings up to which an input keeps them, so that a worksheet can show the mean
    /// term by term.
    pub const MOST_KEPT: usize = 20;
}

fn kept(readings: &[f64]) -> Vec<f64> {
    if readings.len() <= Origin::MOST_KEPT {
        readings.to_vec()
    } else {
        Vec::new()
    }
}

/// An input quantity of a measurement model. Estimate and uncertainty are in SI units; `unit` is
/// the one in which people wish to see them.
///
/// # Example
/// In every way in which evidence comes (JCGM 100:2008, 4.2, 4.3.3 and 4.3.7):
/// ```
/// use flowdoubt::uncertainty::{Input, Shape};
/// let infinite = f64::INFINITY;
/// // four readings: s^2 = 5/3, u = s / sqrt(4), three degrees of freedom
/// let read = Input::from_readings("time", &[1.0, 2.0, 3.0, 4.0])?;
/// assert_eq!((read.estimate(), read.dof()), (2.5, 3.0));
/// assert!((read.standard_uncertainty() - (5.0_f64 / 12.0).sqrt()).abs() < 1e-15);
/// // a certificate: U = 2 mm with k = 2
/// let certified = Input::with_expanded_uncertainty("length", 0.1, 2e-3, 2.0, infinite)?;
/// assert_eq!(certified.standard_uncertainty(), 1e-3);
/// // limits: u = a / sqrt(3)
/// let limits = Input::with_half_width("wall", 8.0, 3.0, Shape::Rectangular, infinite)?;
/// assert!((limits.standard_uncertainty() - 3.0_f64.sqrt()).abs() < 1e-15);
/// let in_words = limits.in_component("pipe").evidence_in_words("thickness gauge");
/// assert_eq!(in_words.component(), "pipe");
/// # Ok::<(), flowdoubt::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Input {
    // shared: inputs are copied with every evaluation of a site
    name: Arc<str>,
    component: Arc<str>,
    evidence: Arc<str>,
    #[serde(skip)]
    evidence_told: Sentence,
    unit: Unit,
    estimate: f64,
    standard_uncertainty: f64,
    dof: f64,
    distribution: Distribution,
    origin: Origin,
}

/// Fewest degrees of freedom: by JCGM 100:2008, G.4.2, an uncertainty that is itself uncertain by more
/// than twice its size. Below, coverage factors have no size that means anything.
const FEWEST_DOF: f64 = 0.1;

fn check_dof(name: &str, dof: f64) -> Result<()> {
    let allowed = format!("degrees of freedom of {FEWEST_DOF} or above");
    Error::range(dof >= FEWEST_DOF, name, dof, "", allowed)
}

impl Input {
    fn new(
        name: &str,
        standard_uncertainty: f64,
        dof: f64,
        distribution: Distribution,
    ) -> Result<Input> {
        let distribution = distribution.check(name)?;
        let [least, most] = MAGNITUDES;
        let (estimate, u) = (distribution.mean(), standard_uncertainty);
        let allowed = format!("estimates of magnitude {most:e} at most");
        // what is no number is told in words of its own
        let possible = estimate.is_nan() || estimate.abs() <= most;
        Error::range(possible, name, estimate, "", allowed)?;
        let possible = !(u > most || (u > 0.0 && u < least));
        let allowed = format!("standard uncertainties of 0, or from {least:e} to {most:e}");
        Error::range(possible, name, u, "", allowed)?;
        check_dof(name, dof)?;
        Ok(Input {
            name: name.into(),
            component: Arc::default(),
            evidence: Arc::default(),
            evidence_told: Sentence::default(),
            unit: Unit::named(""),
            estimate: distribution.mean(),
            standard_uncertainty,
            dof,
            distribution,
            origin: Origin::Distribution,
        })
    }

    fn of_origin(mut self, origin: Origin) -> Input {
        // an uncertainty of zero is exact, whatever it was stated as
        if self.origin != Origin::Exact {
            self.origin = origin;
        }
        self
    }

    /// A quantity that is known exactly.
    ///
    /// # Errors
    /// The value is not finite.
    pub fn exact(name: &str, value: f64) -> Result<Input> {
        let distribution = Distribution::Fixed { value };
        let input = Input::new(name, 0.0, f64::INFINITY, distribution)?;
        Ok(input.of_origin(Origin::Exact))
    }

    /// An estimate with a standard uncertainty: normal, or Student's t when the uncertainty has
    /// finite degrees of freedom (JCGM 101:2008, 6.4.7 and 6.4.9.7).
    ///
    /// # Errors
    /// A negative uncertainty, degrees of freedom below 0.1, a number that is not finite or beyond what
    /// variances hold.
    pub fn with_standard_uncertainty(name: &str, estimate: f64, u: f64, dof: f64) -> Result<Input> {
        Error::range(u >= 0.0, name, u, "", "standard uncertainty, 0 or above")?;
        check_dof(name, dof)?;
        if u == 0.0 {
            return Input::exact(name, estimate);
        }
        let distribution = if dof.is_finite() {
            Distribution::StudentT {
                location: estimate,
                scale: u,
                dof,
            }
        } else {
            Distribution::Normal {
                mean: estimate,
                standard_deviation: u,
            }
        };
        let input = Input::new(name, u, dof, distribution)?;
        Ok(input.of_origin(Origin::Standard))
    }

    /// An estimate with an expanded uncertainty and its coverage factor, as a calibration
    /// certificate states it (JCGM 100:2008, 4.3.3).
    ///
    /// # Errors
    /// A negative uncertainty, a coverage factor not above zero, as above otherwise.
    pub fn with_expanded_uncertainty(
        name: &str,
        estimate: f64,
        expanded: f64,
        coverage_factor: f64,
        dof: f64,
    ) -> Result<Input> {
        let allowed = "expanded uncertainty, 0 or above";
        Error::range(expanded >= 0.0, name, expanded, "", allowed)?;
        let usable = coverage_factor > 0.0 && coverage_factor.is_finite();
        let allowed = "coverage factor above 0";
        Error::range(usable, name, coverage_factor, "", allowed)?;
        let u = expanded / coverage_factor;
        let input = Input::with_standard_uncertainty(name, estimate, u, dof)?;
        Ok(input.of_origin(Origin::Expanded {
            expanded,
            coverage_factor,
        }))
    }

    /// An estimate in the middle of limits (JCGM 100:2008, 4.3.7 and 4.3.9).
    ///
    /// Finite degrees of freedom express uncertainty about the half-width itself (JCGM 100:2008,
    /// G.4.2); they enter the Welch-Satterthwaite formula and leave the distribution as it is.
    ///
    /// # Errors
    /// A negative half-width, degrees of freedom below 0.1, a number that is not finite or beyond what
    /// variances hold.
    pub fn with_half_width(
        name: &str,
        estimate: f64,
        half_width: f64,
        shape: Shape,
        dof: f64,
    ) -> Result<Input> {
        Error::range(
            half_width >= 0.0,
            name,
            half_width,
            "",
            "half-width, 0 or above",
        )?;
        check_dof(name, dof)?;
        if half_width == 0.0 {
            return Input::exact(name, estimate);
        }
        let (lower, upper) = (estimate - half_width, estimate + half_width);
        let (distribution, divisor) = match shape {
            Shape::Rectangular => (Distribution::Rectangular { lower, upper }, 3.0_f64),
            Shape::Triangular => (Distribution::Triangular { lower, upper }, 6.0),
            Shape::Arcsine => (Distribution::Arcsine { lower, upper }, 2.0),
        };
        let mut input = Input::new(name, half_width / divisor.sqrt(), dof, distribution)?;
        // lower and upper were rounded; the estimate was given
        input.estimate = estimate;
        Ok(input.of_origin(Origin::HalfWidth {
            half_width,
            divisor_square: divisor,
        }))
    }

    /// A quantity with any distribution, whose mean and standard deviation become estimate and
    /// standard uncertainty. Degrees of freedom are infinite: the distribution says all.
    ///
    /// Student's t is the exception: its scale becomes the standard uncertainty and its degrees of
    /// freedom those of the input, as in [`Input::with_standard_uncertainty`].
    ///
    /// # Errors
    /// Those of [`Distribution::check`]; a mean or a variance that is not finite.
    pub fn with_distribution(name: &str, distribution: Distribution) -> Result<Input> {
        let (u, dof) = match distribution {
            Distribution::StudentT { scale, dof, .. } => (scale, dof),
            _ => {
                let checked = distribution.clone().check(name)?;
                (checked.variance().sqrt(), f64::INFINITY)
            }
        };
        let input = Input::new(name, u, dof, distribution)?;
        let finite = "parameters with a finite mean and variance";
        Error::range(input.estimate.is_finite(), name, input.estimate, "", finite)?;
        Error::range(u.is_finite(), name, u, "", finite)?;
        Ok(input)
    }

    /// The mean of repeated readings (JCGM 100:2008, 4.2; JCGM 101:2008, 6.4.9.2).
    ///
    /// The standard uncertainty is `s / sqrt(n)` as in the GUM; the distribution used for Monte
    /// Carlo is Student's t with `n - 1` degrees of freedom, whose standard deviation is larger.
    ///
    /// # Errors
    /// Fewer than two readings, or one that is not finite.
    pub fn from_readings(name: &str, readings: &[f64]) -> Result<Input> {
        let a = TypeA::of(readings, name)?;
        let u = a.standard_uncertainty();
        let input = Input::with_standard_uncertainty(name, a.mean, u, a.dof())?;
        Ok(input.of_origin(Origin::Readings {
            count: a.count,
            standard_deviation: a.standard_deviation,
            kept: kept(readings),
            effective_count: a.count as f64,
            from_damping: false,
        }))
    }

    /// The mean of readings that follow each other in time and may depend on each other
    /// (JCGM 100:2008, 4.2.7); `of` are the statistics of `readings`. Monte Carlo draws from
    /// Student's t with the degrees of freedom of the statistics.
    ///
    /// # Errors
    /// Statistics that are not finite.
    pub fn from_series(name: &str, readings: &[f64], of: &Autocorrelated) -> Result<Input> {
        let u = of.standard_uncertainty;
        let input = Input::with_standard_uncertainty(name, of.mean, u, of.dof)?;
        Ok(input.of_origin(Origin::Readings {
            count: of.count,
            standard_deviation: of.standard_deviation,
            kept: kept(readings),
            effective_count: of.effective_count(),
            from_damping: of.from_damping,
        }))
    }

    /// The mean of readings with the distribution that is drawn from, which may be wider.
    pub(super) fn of_type_a(name: &str, a: &TypeA, distribution: Distribution) -> Result<Input> {
        Input::new(name, a.standard_uncertainty(), a.dof(), distribution)
    }

    /// The input with the words that say where it comes from.
    pub fn evidence_in_words(mut self, evidence: impl Into<String>) -> Input {
        self.evidence = evidence.into().into();
        self.evidence_told = Sentence::default();
        self
    }

    /// As [`Input::evidence_in_words`], with a sentence that can be said in any language.
    pub(crate) fn evidence_in_message(mut self, evidence: Message) -> Input {
        self.evidence = evidence.words().into();
        self.evidence_told = evidence.into();
        self
    }

    /// The evidence, to be said in any language where it is no words of a user.
    pub fn evidence_told(&self) -> Told {
        match self.evidence_told.message() {
            Some(message) => message.clone().into(),
            None => Told::Theirs(self.evidence.to_string()),
        }
    }

    /// The input as a member of a named component of the budget.
    pub fn in_component(mut self, component: impl Into<String>) -> Input {
        self.component = component.into().into();
        self
    }

    /// The input with the unit in which it is shown.
    pub fn shown_in(mut self, unit: Unit) -> Input {
        self.unit = unit;
        self
    }

    /// The input under another name.
    pub fn named(mut self, name: impl Into<String>) -> Input {
        self.name = name.into().into();
        self
    }

    /// The name by which correlations and budgets refer to the input.
    pub fn name(&self) -> &str {
        &self.name
    }
    /// The component of the budget to which the input belongs; may be empty.
    pub fn component(&self) -> &str {
        &self.component
    }
    /// Where the input comes from, in words; may be empty.
    pub fn evidence(&self) -> &str {
        &self.evidence
    }
    /// The unit in which the input is shown.
    pub fn unit(&self) -> &Unit {
        &self.unit
    }
    /// The estimate, in SI units.
    pub fn estimate(&self) -> f64 {
        self.estimate
    }
    /// The standard uncertainty as the GUM defines it, in SI units.
    pub fn standard_uncertainty(&self) -> f64 {
        self.standard_uncertainty
    }
    /// The degrees of freedom of the standard uncertainty; infinite where it is taken as exact.
    pub fn dof(&self) -> f64 {
        self.dof
    }
    /// The numbers from which estimate and standard uncertainty were found.
    pub fn origin(&self) -> &Origin {
        &self.origin
    }
    /// The distribution.
    pub fn distribution(&self) -> &Distribution {
        &self.distribution
    }
}
