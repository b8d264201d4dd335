//! Probability distributions that are assigned to input quantities.

mod beta;
mod check;
mod curvilinear;
mod draws;
mod evidence;
mod law;
mod limits;
mod normal;
mod positive;
mod sample;
mod student;
mod table;
mod values;

pub use values::Values;

use crate::scalar::InstructionSet;
use crate::scalar::special::StudentT;
use law::{Exact, Law};
use limits::Limits;
use serde::{Deserialize, Serialize};
use std::sync::Arc;

/// A probability distribution assigned to an input quantity.
///
/// Parameters are in SI units. A value read from a file has not been checked until it becomes an
/// [`Input`](super::Input); the constructors check at once. With parameters that the check would
/// refuse, the answers are NaN.
///
/// # Source
/// JCGM 101:2008, table 1, for all but beta, lognormal, truncated normal, sample and tables.
///
/// # Example
/// Limits of 4 and 10 and nothing else: the middle, and a twelfth of the square of the width as variance
/// (JCGM 101:2008, 6.4.2.3):
/// ```
/// use flowdoubt::uncertainty::Distribution;
/// let d = Distribution::Rectangular { lower: 4.0, upper: 10.0 };
/// assert_eq!((d.mean(), d.variance()), (7.0, 3.0));
/// assert_eq!((d.cdf(5.5), d.quantile(0.25)), (0.25, 5.5));
/// assert_eq!(d.density(5.0), Some(1.0 / 6.0));
/// ```
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "snake_case", deny_unknown_fields)]
#[non_exhaustive]
pub enum Distribution {
    /// Exactly known.
    Fixed {
        /// The value.
        value: f64,
    },
    /// Normal: best estimate and standard uncertainty (JCGM 101, 6.4.7).
    Normal {
        /// The mean.
        mean: f64,
        /// The standard deviation, above zero.
        standard_deviation: f64,
    },
    /// Rectangular: limits and nothing else (JCGM 101, 6.4.2).
    Rectangular {
        /// The lower limit.
        lower: f64,
        /// The upper limit.
        upper: f64,
    },
    /// Curvilinear trapezoid: limits that are themselves known within limits (JCGM 101, 6.4.3).
    CurvilinearTrapezoid {
        /// The middle of the range in which the lower limit lies.
        lower: f64,
        /// The middle of the range in which the upper limit lies.
        upper: f64,
        /// The half-width `d` of both ranges, above zero and below half of `upper - lower`.
        limit_half_width: f64,
    },
    /// Trapezoidal and symmetric: a sum of two rectangular quantities (JCGM 101, 6.4.4).
    Trapezoidal {
        /// The lower limit.
        lower: f64,
        /// The upper limit.
        upper: f64,
        /// Width of the top divided by that of the base, from 0 to below 1.
        top_ratio: f64,
    },
    /// Triangular and symmetric: a sum of two rectangular quantities of equal width
    /// (JCGM 101, 6.4.5).
    Triangular {
        /// The lower limit.
        lower: f64,
        /// The upper limit.
        upper: f64,
    },
    /// Arcsine (U-shaped): sinusoidal cycling between limits (JCGM 101, 6.4.6).
    Arcsine {
        /// The lower limit.
        lower: f64,
        /// The upper limit.
        upper: f64,
    },
    /// Scaled and shifted Student's t: a mean of readings, or a certificate with effective
    /// degrees of freedom (JCGM 101, 6.4.9).
    StudentT {
        /// The mean of the readings.
        location: f64,
        /// The experimental standard deviation of the mean.
        scale: f64,
        /// The degrees of freedom, above zero.
        dof: f64,
    },
    /// Exponential: a non-negative quantity of which the best estimate alone is known
    /// (JCGM 101, 6.4.10).
    Exponential {
        /// The best estimate, above zero.
        mean: f64,
    },
    /// Gamma: the mean rate of counted objects (JCGM 101, 6.4.11), and other positive quantities.
    Gamma {
        /// The shape, above zero; `q + 1` for `q` counted objects.
        shape: f64,
        /// The scale, above zero; one for counted objects.
        scale: f64,
    },
    /// Beta between limits, such as a proportion.
    Beta {
        /// The exponent at the lower limit plus one, above zero.
        alpha: f64,
        /// The exponent at the upper limit plus one, above zero.
        beta: f64,
        /// The lower limit.
        lower: f64,
        /// The upper limit.
        upper: f64,
    },
    /// Lognormal: a positive quantity that is known within a factor.
    Lognormal {
        /// The mean of the logarithm.
        log_mean: f64,
        /// The standard deviation of the logarithm, above zero.
        log_standard_deviation: f64,
    },
    /// Normal, but never beyond limits. Mean and standard deviation of the result differ from
    /// `location` and `scale`.
    TruncatedNormal {
        /// The mean before truncation.
        location: f64,
        /// The standard deviation before truncation, above zero.
        scale: f64,
        /// The lower limit, if there is one.
        lower: Option<f64>,
        /// The upper limit, if there is one.
        upper: Option<f64>,
    },
    /// A sample that stands for the distribution, such as the result of another Monte Carlo
    /// propagation (JCGM 101, 6.5): each value is as probable as any other.
    Sample {
        /// The values, shape `(n,)`, in any order.
        values: Values,
    },
    /// A density given at points and straight between them; it need not be normalised.
    DensityTable {
        /// The points, shape `(n,)`, increasing.
        x: Values,
        /// The density at the points, shape `(n,)`, not negative.
        density: Values,
    },
    /// A distribution function given at points and straight between them.
    ProbabilityTable {
        /// The points, shape `(n,)`, increasing.
        x: Values,
        /// The probability below each point, shape `(n,)`, from 0 to 1 and never falling.
        probability: Values,
    },
}

impl Distribution {
    /// The name in words.
    pub fn name(&self) -> &'static str {
        match self {
            Distribution::Fixed { .. } => "exact",
            Distribution::Normal { .. } => "normal",
            Distribution::Rectangular { .. } => "rectangular",
            Distribution::CurvilinearTrapezoid { .. } => "curvilinear trapezoid",
            Distribution::Trapezoidal { .. } => "trapezoidal",
            Distribution::Triangular { .. } => "triangular",
            Distribution::Arcsine { .. } => "arcsine",
            Distribution::StudentT { .. } => "Student's t",
            Distribution::Exponential { .. } => "exponential",
            Distribution::Gamma { .. } => "gamma",
            Distribution::Beta { .. } => "beta",
            Distribution::Lognormal { .. } => "lognormal",
            Distribution::TruncatedNormal { .. } => "truncated normal",
            Distribution::Sample { .. } => "sample",
            Distribution::DensityTable { .. } => "density table",
            Distribution::ProbabilityTable { .. } => "probability table",
        }
    }

    /// The mean (for t with one degree of freedom or fewer: the median).
    pub fn mean(&self) -> f64 {
        self.law().mean()
    }

    /// The variance; infinite for t with two degrees of freedom or fewer.
    pub fn variance(&self) -> f64 {
        self.law().variance()
    }

    /// The probability density at `x`; `None` for an exact value and for a sample, which have
    /// none.
    pub fn density(&self, x: f64) -> Option<f64> {
        self.law().density(x)
    }

    /// The distribution function: the probability of a value not above `x`.
    pub fn cdf(&self, x: f64) -> f64 {
        self.law().cdf(x)
    }

    /// The value with probability `p` below it, `0 < p < 1`.
    ///
    /// For many values of `p` take a [`sampler`](Distribution::sampler).
    pub fn quantile(&self, p: f64) -> f64 {
        self.law().quantile(p)
    }

    /// The value of a quantity that is known exactly.
    pub fn only_value(&self) -> Option<f64> {
        match self {
            Distribution::Fixed { value } => Some(*value),
            _ => None,
        }
    }

    /// The quantile function, prepared for many draws.
    pub fn sampler(&self) -> Sampler {
        Sampler {
            law: Arc::from(self.law()),
        }
    }

    fn law(&self) -> Box<dyn Law> {
        let limits = |lower: &f64, upper: &f64| Limits {
            lower: *lower,
            upper: *upper,
        };
        match self {
            Distribution::Fixed { value } => Box::new(Exact(*value)),
            Distribution::Normal {
                mean,
                standard_deviation,
            } => Box::new(normal::Normal {
                mean: *mean,
                deviation: *standard_deviation,
            }),
            Distribution::Rectangular { lower, upper } => {
                Box::new(limits::Rectangular(limits(lower, upper)))
            }
            Distribution::CurvilinearTrapezoid {
                lower,
                upper,
                limit_half_width,
            } => Box::new(curvilinear::CurvilinearTrapezoid {
                middle: 0.5 * (lower + upper),
                half_width: 0.5 * (upper - lower),
                uncertainty: *limit_half_width,
            }),
            Distribution::Trapezoidal {
                lower,
                upper,
                top_ratio,
            } => Box::new(limits::Trapezoidal {
                limits: limits(lower, upper),
                top_ratio: *top_ratio,
            }),
            Distribution::Triangular { lower, upper } => {
                Box::new(limits::Triangular(limits(lower, upper)))
            }
            Distribution::Arcsine { lower, upper } => {
                Box::new(limits::Arcsine(limits(lower, upper)))
            }
            Distribution::StudentT {
                location,
                scale,
                dof,
            } => Box::new(student::ScaledT {
                location: *location,
                scale: *scale,
                dof: *dof,
                standard: StudentT::new(*dof),
                fits: once_cell::race::OnceBox::new(),
            }),
            Distribution::Exponential { mean } => Box::new(positive::Exponential { mean: *mean }),
            Distribution::Gamma { shape, scale } => Box::new(positive::Gamma {
                shape: *shape,
                scale: *scale,
            }),
            Distribution::Beta {
                alpha,
                beta,
                lower,
                upper,
            } => Box::new(beta::Beta {
                alpha: *alpha,
                beta: *beta,
                lower: *lower,
                upper: *upper,
            }),
            Distribution::Lognormal {
                log_mean,
                log_standard_deviation,
            } => Box::new(positive::Lognormal {
                log_mean: *log_mean,
                log_deviation: *log_standard_deviation,
            }),
            Distribution::TruncatedNormal {
                location,
                scale,
                lower,
                upper,
            } => Box::new(normal::TruncatedNormal::new(
                *location,
                *scale,
                lower.unwrap_or(f64::NEG_INFINITY),
                upper.unwrap_or(f64::INFINITY),
            )),
            Distribution::Sample { values } => Box::new(sample::Sample::new(values)),
            Distribution::DensityTable { x, density } => {
                Box::new(table::Table::of_density(x, density))
            }
            Distribution::ProbabilityTable { x, probability } => {
                Box::new(table::Table::of_probability(x, probability))
            }
        }
    }
}

/// The draws from a [`Distribution`].
#[derive(Debug, Clone)]
pub struct Sampler {
    law: Arc<dyn Law>,
}

impl Sampler {
    /// The value with probability `p` below it, `0 < p < 1`.
    pub fn quantile(&self, p: f64) -> f64 {
        self.law.quantile(p)
    }

    /// Replaces each probability by the value with that probability below it.
    ///
    /// The bits are those of [`Sampler::quantile`] but for the normal distribution and Student's t,
    /// which have a relative error below 1e-8 and 2e-7 here, far less than any number of trials
    /// resolves.
    pub fn quantiles(&self, set: InstructionSet, values: &mut [f64]) {
        self.law.quantiles(set, values);
    }

    /// Replaces independent numbers, uniform between 0 and 1, by independent draws from the
    /// distribution: quantiles, but pairs by Box and Muller for the normal distribution, and sums of
    /// two rectangular draws for the triangular.
    ///
    /// Groups of [`Sampler::drawn_together`] numbers are drawn together; what is left over after
    /// the last whole group is without meaning.
    pub fn draws(&self, set: InstructionSet, uniforms: &mut [f64]) {
        self.law.draws(set, uniforms);
    }

    /// How many uniform numbers make as many draws together: 1 where each makes its own.
    pub fn drawn_together(&self) -> usize {
        self.law.drawn_together()
    }

    /// Replaces each standard normal deviate by the value with the same probability below it: exact
    /// for normal and lognormal distributions, through `p = Phi(z)` for the others but Student's
    /// t, for which see [`Sampler::quantiles`].
    pub fn from_normal_deviates(&self, set: InstructionSet, values: &mut [f64]) {
        self.law.at_normal_deviates(set, values);
    }
}
