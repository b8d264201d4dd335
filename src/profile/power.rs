//! The exponent `1/n` of the power law.

use super::friction::{FrictionLaw, friction_factor};
use super::quadrature::unit_interval;
use crate::scalar::{MonotoneCubic, Scalar};
use once_cell::race::OnceBox;
use serde::{Deserialize, Serialize};
use std::f64::consts::LN_10;

/// Where the `n` of the power law `u = u_max (1 - r)^(1/n)` comes from.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[non_exhaustive]
pub enum Exponent {
    /// `n = 1/sqrt(f)`: the only one that follows roughness.
    Friction,
    /// `n = 1.66 log10(Re)`, a handbook rule.
    Miller,
    /// `n = (2/3) ln(Re)`.
    Barenblatt,
    /// Nikuradse's measurements in smooth pipes, interpolated; Reynolds numbers up to 3.24e6.
    Nikuradse,
    /// A fixed `n`.
    Fixed {
        /// The reciprocal `n` of the exponent.
        n: f64,
    },
}

/// Reynolds number and `n` of Nikuradse's smooth pipes.
///
/// # Source
/// J. Nikuradse, VDI-Forschungsheft 356 (1932), after H. Schlichting, *Boundary-Layer Theory*,
/// section 20 (first, third and last value seen quoted, the others from memory; the measured
/// ratios of mean to axial velocity 0.791, 0.807, 0.817, 0.850 and 0.865, from memory as well,
/// agree with them).
const NIKURADSE: [(f64, f64); 6] = [
    (4e3, 6.0),
    (2.3e4, 6.6),
    (1.1e5, 7.0),
    (1.1e6, 8.8),
    (2.0e6, 10.0),
    (3.24e6, 10.0),
];

/// Largest Reynolds number of Nikuradse's measurements.
pub(super) const MOST_REYNOLDS_NIKURADSE: f64 = NIKURADSE[NIKURADSE.len() - 1].0;

fn nikuradse_curve() -> &'static MonotoneCubic {
    static CURVE: OnceBox<MonotoneCubic> = OnceBox::new();
    CURVE.get_or_init(|| {
        let reynolds = NIKURADSE.map(|(reynolds, _)| libm::log(reynolds));
        Box::new(MonotoneCubic::new(&reynolds, &NIKURADSE.map(|(_, n)| n)))
    })
}

impl Exponent {
    /// The value of `n`; `friction_ratio` is the true friction factor over that of the law.
    ///
    /// Nikuradse's values hold at the ends of his measurements and are kept beyond them.
    ///
    /// # Source
    /// Friction: W. Nunner 1956 after J. Nikuradse (from memory). Miller: R. W. Miller, *Flow
    /// Measurement Engineering Handbook* (from memory). Barenblatt: G. I. Barenblatt, J. Fluid
    /// Mech. 248 (1993) 513 (from memory); his factor of proportionality drops out.
    pub fn n<S: Scalar>(
        self,
        reynolds: S,
        relative_roughness: S,
        friction: FrictionLaw,
        friction_ratio: Option<S>,
    ) -> S {
        match self {
            Exponent::Friction => {
                let f = friction_factor(reynolds, relative_roughness, friction);
                let f = friction_ratio.map_or(f, |ratio| f * ratio);
                f.sqrt().recip()
            }
            Exponent::Miller => reynolds.ln() * (1.66 / LN_10),
            Exponent::Barenblatt => reynolds.ln() * (2.0 / 3.0),
            Exponent::Nikuradse => {
                let curve = nikuradse_curve();
                let [low, high] = curve.range().map(S::constant);
                curve.at(reynolds.ln().max(low).min(high))
            }
            Exponent::Fixed { n } => S::constant(n),
        }
    }
}

/// Mean velocity on the chord at `offset` over that on a diameter, of the power law: one to the
/// last bit where the offset is zero.
///
/// With `s = l (1 - w)` along the chord of half-length `l`, `1 - r = l^2 w (2 - w)/(1 + r)`. What
/// is left beside the singular `w^(1/n)` is smooth, and `w = t^4` takes care of that.
pub(super) fn chord_over_diameter<S: Scalar>(offset: S, n: S) -> S {
    let exponent = n.recip();
    let h2 = offset * offset;
    let l2 = -h2 + 1.0;
    let mut difference = S::constant(0.0);
    for node in unit_interval() {
        let cube = node.at * node.at * node.at;
        let w = cube * node.at;
        // along the diameter, and the radius on the chord
        let along = 1.0 - w;
        let r = (h2 + l2 * (along * along)).sqrt();
        let distance_ratio = l2 * (1.0 + along) / (r + 1.0);
        let chord_less_diameter = distance_ratio.powf(exponent) - 1.0;
        let weight = 4.0 * cube * node.weight;
        difference += (exponent * libm::log(w)).exp() * chord_less_diameter * weight;
    }
    // the mean on a diameter is n/(n + 1)
    difference * (exponent + 1.0) + 1.0
}
