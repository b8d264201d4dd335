//! The mean of results that differ by more than their uncertainties say: a common value, an effect
//! of each set, and the uncertainty within it.

use super::WeightedMean;
use crate::error::{Error, Result};
use crate::uncertainty::{Expanded, expanded};
use std::str::FromStr;

/// How the standard deviation between sets is estimated.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum BetweenSets {
    /// The value with which the weighted sum of squares equals its degrees of freedom
    /// (R. C. Paule and J. Mandel, J. Res. Natl. Bur. Stand. 87 (1982) 377). The default.
    #[default]
    MandelPaule,
    /// By moments, in one step (R. DerSimonian and N. Laird, Control. Clin. Trials 7 (1986) 177).
    DerSimonianLaird,
    /// From the scatter of the results with equal weights (W. G. Cochran, Biometrics 10 (1954) 101):
    /// for sets whose stated uncertainties differ by much.
    EqualWeights,
}

impl BetweenSets {
    /// All of them.
    pub const ALL: [BetweenSets; 3] = [
        BetweenSets::MandelPaule,
        BetweenSets::DerSimonianLaird,
        BetweenSets::EqualWeights,
    ];

    /// The name.
    pub fn name(self) -> &'static str {
        match self {
            BetweenSets::MandelPaule => "mandel-paule",
            BetweenSets::DerSimonianLaird => "dersimonian-laird",
            BetweenSets::EqualWeights => "equal-weights",
        }
    }
}

impl FromStr for BetweenSets {
    type Err = Error;

    fn from_str(name: &str) -> Result<BetweenSets> {
        let known = Self::ALL.into_iter().find(|method| method.name() == name);
        known.ok_or_else(|| Error::unknown_name("method", name, &Self::ALL.map(Self::name)))
    }
}

/// The mean of independent results `x_i` of several sets (laboratories, placements of the sensors,
/// certificates) with standard uncertainties `u_i`, where each set has an effect of its own.
///
/// ```text
/// x_i = mu + d_i + e_i,  d_i ~ N(0, tau^2),  e_i ~ N(0, u_i^2)
/// y = sum(w_i x_i) / sum(w_i),  w_i = 1 / (u_i^2 + tau^2)
/// u(y)^2 = max(1, q) / sum(w_i),  q = sum(w_i (x_i - y)^2) / (k - 1)
/// ```
/// with Student's t for `k - 1` degrees of freedom. With equal weights `u(y)` is the standard
/// deviation of the results over the square root of their number.
///
/// Three sets tell little of `tau`, which the normal distribution ignores: its interval for 95 %
/// holds the common value in 80 % to 85 % of cases. The factor `q` and Student's t make up for it;
/// `q` below one is not used, since it would make results that agree by chance better than stated.
/// By simulation, the interval for 95 % covers 94.5 % or more from three sets on where the `u_i`
/// differ by a factor of three at most. Beyond that the most certain set rules the mean although
/// its effect is unknown, and coverage falls, to 82 % at a factor of ten; with equal weights it is
/// 95 % or more whatever the `u_i` (R. Ibragimov and U. K. Müller, J. Bus. Econ. Stat. 28 (2010)
/// 453, from memory).
///
/// # Source
/// J. Hartung and G. Knapp, Stat. Med. 20 (2001) 1771; G. Knapp and J. Hartung, Stat. Med. 22 (2003)
/// 2693 for `max(1, q)`. JCGM GUM-6:2020, clause 11, has examples of such models (from memory).
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct RandomEffects {
    /// How `between_sets` was estimated.
    pub method: BetweenSets,
    /// `y`.
    pub mean: f64,
    /// `u(y)`.
    pub standard_uncertainty: f64,
    /// `tau`; zero where the results scatter by no more than the `u_i` say.
    pub between_sets: f64,
    /// The standard uncertainty of `y` as if `tau` were known, the one of DerSimonian and Laird:
    /// `1 / sqrt(sum(w_i))`, and for equal weights `sqrt(sum(u_i^2 + tau^2)) / k`.
    pub standard_uncertainty_for_known_between_sets: f64,
    /// The share of each result in the mean, shape `(k,)`.
    pub weights: Vec<f64>,
    /// The weighted mean without an effect of the sets: whether the results agree.
    pub without_effect: WeightedMean,
}

impl RandomEffects {
    /// From results and their standard uncertainties, both of shape `(k,)`, in one unit.
    ///
    /// # Errors
    /// As [`WeightedMean::whether_or_not_they_agree`].
    pub fn of(
        results: &[f64],
        standard_uncertainties: &[f64],
        method: BetweenSets,
    ) -> Result<RandomEffects> {
        let without_effect =
            WeightedMean::whether_or_not_they_agree(results, standard_uncertainties)?;
        let sets = Sets {
            results,
            variances: standard_uncertainties.iter().map(|u| u * u).collect(),
        };
        let dof = without_effect.dof;
        let variance = match method {
            BetweenSets::DerSimonianLaird => sets.of_moments(&without_effect),
            BetweenSets::MandelPaule => sets.of_iteration(),
            BetweenSets::EqualWeights => sets.of_scatter(),
        };
        let weights = match method {
            BetweenSets::EqualWeights => vec![1.0; results.len()],
            _ => sets.weights(variance),
        };
        let total: f64 = weights.iter().sum();
        let mean = sets.mean(&weights);
        let squares = sets.squares(&weights, mean);
        let (known, found) = match method {
            BetweenSets::EqualWeights => {
                let variances = sets.variances.iter().map(|own| own + variance);
                (variances.sum::<f64>().sqrt() / total, squares / dof / total)
            }
            _ => ((1.0 / total).sqrt(), (squares / dof).max(1.0) / total),
        };
        Ok(RandomEffects {
            method,
            mean,
            standard_uncertainty: found.sqrt(),
            between_sets: variance.sqrt(),
            standard_uncertainty_for_known_between_sets: known,
            weights: weights.iter().map(|w| w / total).collect(),
            without_effect,
        })
    }

    /// Degrees of freedom of `u(y)`, the number of sets less one.
    pub fn dof(&self) -> f64 {
        self.without_effect.dof
    }

    /// The expanded uncertainty of the mean by Student's t.
    ///
    /// # Errors
    /// A coverage probability outside 0 to 1.
    pub fn expanded(&self, coverage_probability: f64) -> Result<Expanded> {
        expanded(self.standard_uncertainty, self.dof(), coverage_probability)
    }
}

struct Sets<'a> {
    results: &'a [f64],
    variances: Vec<f64>,
}

impl Sets<'_> {
    fn weights(&self, between: f64) -> Vec<f64> {
        self.variances
            .iter()
            .map(|own| 1.0 / (own + between))
            .collect()
    }

    fn mean(&self, weights: &[f64]) -> f64 {
        // results share many leading digits, so the deviations from the first are averaged
        let first = self.results[0];
        let shifts = self.results.iter().zip(weights);
        let shifts = shifts.map(|(x, w)| (x - first) * w);
        first + shifts.sum::<f64>() / weights.iter().sum::<f64>()
    }

    /// `sum(w_i (x_i - y)^2)`.
    fn squares(&self, weights: &[f64], mean: f64) -> f64 {
        let squares = self.results.iter().zip(weights);
        squares.map(|(x, w)| w * (x - mean) * (x - mean)).sum()
    }

    fn of_moments(&self, without: &WeightedMean) -> f64 {
        let weights = self.weights(0.0);
        let total: f64 = weights.iter().sum();
        let squares: f64 = weights.iter().map(|w| w * w).sum();
        ((without.chi_squared - without.dof) / (total - squares / total)).max(0.0)
    }

    /// The sum of squares falls with the variance between sets; it is bisected for that reason.
    fn of_iteration(&self) -> f64 {
        let dof = (self.results.len() - 1) as f64;
        let excess = |between: f64| {
            let weights = self.weights(between);
            self.squares(&weights, self.mean(&weights)) - dof
        };
        if excess(0.0) <= 0.0 {
            return 0.0;
        }
        // with it alone in all weights the sum of squares is its degrees of freedom, and smaller
        // with the others beside
        let same = vec![1.0; self.results.len()];
        let (mut low, mut high) = (0.0, self.squares(&same, self.mean(&same)) / dof);
        while low < high {
            let middle = 0.5 * (low + high);
            if middle <= low || middle >= high {
                break;
            }
            if excess(middle) > 0.0 {
                low = middle;
            } else {
                high = middle;
            }
        }
        high
    }

    fn of_scatter(&self) -> f64 {
        let count = self.results.len() as f64;
        let same = vec![1.0; self.results.len()];
        let scatter = self.squares(&same, self.mean(&same)) / (count - 1.0);
        (scatter - self.variances.iter().sum::<f64>() / count).max(0.0)
    }
}
