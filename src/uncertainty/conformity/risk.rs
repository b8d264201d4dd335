//! Consumer's and producer's risks, of one measured item and of all items.

use super::Permissible;
use crate::error::{Error, Result};
use crate::scalar::special::{integrate, normal_cdf, normal_density};
use crate::uncertainty::Distribution;
use serde::{Deserialize, Serialize};

/// Items whose true values are known to follow a distribution before they are measured, and the
/// measurement of them: normal, with a standard uncertainty that is the same for all.
#[derive(Debug, Clone, PartialEq)]
pub struct ItemsAndMeasurement {
    prior: Distribution,
    measurement_uncertainty: f64,
    tolerance: Permissible,
}

/// The risks of a decision rule over all items.
///
/// # Source
/// JCGM 106:2012, 9.5.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "site", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
#[non_exhaustive]
pub struct GlobalRisks {
    /// The probability that an item conforms, before measurement.
    pub conforming: f64,
    /// The probability that an item is accepted.
    pub accepted: f64,
    /// Global consumer's risk: that an item is accepted and does not conform.
    pub consumers_risk: f64,
    /// Global producer's risk: that an item is rejected and conforms.
    pub producers_risk: f64,
}

/// The risks of the decision on one item whose measured value is known.
///
/// # Source
/// JCGM 106:2012, 3.3.13, 3.3.14 and 9.3.2.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "site", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
#[non_exhaustive]
pub struct SpecificRisks {
    /// That the item does not conform, if it is accepted.
    pub consumers_risk: f64,
    /// That the item conforms, if it is rejected: its conformance probability.
    pub producers_risk: f64,
}

impl SpecificRisks {
    /// From the conformance probability of the item.
    pub fn of(conformance_probability: f64) -> SpecificRisks {
        SpecificRisks {
            consumers_risk: 1.0 - conformance_probability,
            producers_risk: conformance_probability,
        }
    }
}

/// Absolute error of a probability by quadrature.
const TOLERANCE: f64 = 1e-13;
/// Distances in measurement uncertainties at which integrals are split, since there the
/// probability of acceptance turns.
const SPLITS: [f64; 9] = [-9.0, -5.0, -2.5, -1.0, 0.0, 1.0, 2.5, 5.0, 9.0];

impl ItemsAndMeasurement {
    /// From the prior distribution, the measurement uncertainty and the tolerance interval, all in
    /// the same SI unit.
    ///
    /// # Errors
    /// A measurement uncertainty not above zero; a prior that is exact or a sample, which has no
    /// density.
    pub fn new(
        prior: Distribution,
        measurement_uncertainty: f64,
        tolerance: Permissible,
    ) -> Result<ItemsAndMeasurement> {
        let prior = prior.check("prior")?;
        let u = measurement_uncertainty;
        let usable = u > 0.0 && u.is_finite();
        Error::range(usable, "measurement uncertainty", u, "", "above 0")?;
        if prior.density(prior.mean()).is_none() {
            return Err(Error::Conflict {
                field: "prior".to_owned(),
                found: format!("{}, which has no density", prior.name()),
                allowed: "a distribution with a density".to_owned(),
            });
        }
        Ok(ItemsAndMeasurement {
            prior,
            measurement_uncertainty,
            tolerance,
        })
    }

    /// The distribution of the true values before measurement.
    pub fn prior(&self) -> &Distribution {
        &self.prior
    }

    /// The standard uncertainty of the measurement.
    pub fn measurement_uncertainty(&self) -> f64 {
        self.measurement_uncertainty
    }

    /// The probability that an item conforms whose measured value is `measured`: one less the
    /// specific consumer's risk of accepting it, and the specific producer's risk of rejecting it.
    ///
    /// # Errors
    /// A measured value that the prior rules out.
    ///
    /// # Source
    /// JCGM 106:2012, 6.2 (Bayes's theorem), 9.3.2.
    pub fn conformity_given(&self, measured: f64) -> Result<f64> {
        let u = self.measurement_uncertainty;
        let likelihood = |eta: f64| normal_density((measured - eta) / u) / u;
        let breaks = self.breaks(&[measured]);
        let all = self.expectation(&breaks, likelihood, |_| true);
        let allowed = "a value that the prior distribution does not rule out";
        Error::range(all > 1e-280, "measured value", measured, "", allowed)?;
        let within = self.expectation(&breaks, likelihood, |eta| self.tolerance.contains(eta));
        Ok((within / all).clamp(0.0, 1.0))
    }

    /// The global risks of accepting what is measured within `acceptance`.
    ///
    /// # Source
    /// JCGM 106:2012, 9.5.2, formulas (17) and (18).
    pub fn global_risks(&self, acceptance: &Permissible) -> GlobalRisks {
        let u = self.measurement_uncertainty;
        // each tail on the side where it is small
        let accept = |eta: f64| {
            let (low, high) = (
                (acceptance.lower() - eta) / u,
                (acceptance.upper() - eta) / u,
            );
            if low > 0.0 {
                normal_cdf(-low) - normal_cdf(-high)
            } else {
                normal_cdf(high) - normal_cdf(low)
            }
        };
        let reject = |eta: f64| {
            normal_cdf((acceptance.lower() - eta) / u) + normal_cdf((eta - acceptance.upper()) / u)
        };
        let breaks = self.breaks(&[acceptance.lower(), acceptance.upper()]);
        let conforms = |eta: f64| self.tolerance.contains(eta);
        let consumers_risk = self.expectation(&breaks, accept, |eta| !conforms(eta));
        GlobalRisks {
            conforming: self.tolerance.probability(&self.prior),
            accepted: consumers_risk + self.expectation(&breaks, accept, conforms),
            consumers_risk,
            producers_risk: self.expectation(&breaks, reject, conforms),
        }
    }

    /// The guard band, the same at every limit, with which the global consumer's risk is
    /// `consumers_risk`; negative where even less than the tolerance interval would do.
    ///
    /// # Errors
    /// A risk outside 0 to the share of items that do not conform, or one that needs a guard band
    /// outside -9 to 9 measurement uncertainties or beyond the middle of the interval.
    ///
    /// # Source
    /// JCGM 106:2012, 9.5.4 and its example.
    pub fn guard_band_for(&self, consumers_risk: f64) -> Result<f64> {
        let u = self.measurement_uncertainty;
        let middle = 0.5 * (self.tolerance.upper() - self.tolerance.lower());
        let (mut low, mut high) = (-9.0 * u, (9.0 * u).min(middle * (1.0 - 1e-9)));
        let risk = |w: f64| -> Result<f64> {
            Ok(self
                .global_risks(&self.tolerance.guarded(w)?)
                .consumers_risk)
        };
        let (largest, smallest) = (risk(low)?, risk(high)?);
        let inside = consumers_risk < largest && consumers_risk > smallest;
        let allowed = format!("between {smallest:.3e} and {largest:.3e} for these items");
        Error::range(inside, "consumers_risk", consumers_risk, "", allowed)?;
        for _ in 0..60 {
            let w = 0.5 * (low + high);
            if risk(w)? > consumers_risk {
                low = w;
            } else {
                high = w;
            }
            if high - low <= 1e-12 * u {
                break;
            }
        }
        Ok(0.5 * (low + high))
    }

    /// Probabilities of the prior at which integrands turn, ascending from 0 to 1: the tolerance
    /// limits, and the neighbourhood of `centres`.
    fn breaks(&self, centres: &[f64]) -> Vec<f64> {
        let u = self.measurement_uncertainty;
        let near = centres
            .iter()
            .filter(|c| c.is_finite())
            .flat_map(|c| SPLITS.map(|k| c + k * u));
        let limits = [self.tolerance.lower(), self.tolerance.upper()];
        let points = near.chain(limits.into_iter().filter(|l| l.is_finite()));
        let mut breaks: Vec<f64> = points.map(|x| self.prior.cdf(x)).collect();
        breaks.extend([0.0, 1.0]);
        breaks.sort_by(f64::total_cmp);
        breaks.dedup();
        breaks
    }

    /// The prior expectation of `f` over the values that `counts` selects, which changes only at
    /// `breaks`. With the prior's probability as variable the density need not be finite.
    fn expectation(
        &self,
        breaks: &[f64],
        f: impl Fn(f64) -> f64,
        counts: impl Fn(f64) -> bool,
    ) -> f64 {
        let sampler = self.prior.sampler();
        // the innermost doubles: a point of a narrow piece may round to 0 or 1
        let quantile = |p: f64| sampler.quantile(p.clamp(1e-300, 1.0 - 0.5 * f64::EPSILON));
        let pieces = breaks.windows(2).map(|ends| {
            let (low, high) = (ends[0], ends[1]);
            if !counts(quantile(0.5 * (low + high))) {
                return 0.0;
            }
            integrate(|p| f(quantile(p)), low, high, TOLERANCE).value
        });
        pieces.sum()
    }
}
