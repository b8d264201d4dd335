//! Profiles with viscous layer and wake, in units of the friction velocity.
//!
//! Radius over pipe radius is `r`, distance from the wall `y = 1 - r`, friction Reynolds number
//! `R+ = R u*/nu`. A profile is given by its shear `g(r) = -(1/r) du+/dr`, which is regular on the
//! axis. With `u+ = 0` at the wall, integration by parts gives the mean velocity on a chord at the
//! distance `h` from the axis, of half-length `l = sqrt(1 - h^2)`,
//!
//! ```text
//! P(h) = (1/l) int_0^l s^2 g(sqrt(h^2 + s^2)) ds
//! ```

use super::quadrature::unit_interval;
use super::wake_fit::{self, FRICTION_REYNOLDS, SHIFT};
use crate::scalar::{Dual, Scalar, chebyshev};
use serde::{Deserialize, Serialize};

/// A profile with viscous layer and wake.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[non_exhaustive]
pub enum WakeProfile {
    /// Eddy viscosity of Cess with three constants fitted to measured and simulated profiles; the
    /// default.
    ///
    /// # How it was made
    /// In developed flow the stress falls linearly from the wall to the axis, so that the momentum
    /// balance is `(1 + nu_t/nu) du+/dy+ = r`: an eddy viscosity is all that a profile needs. Cess's
    /// grows with the distance from the wall, is damped next to it, and levels off towards the axis. Its three
    /// constants are von Karman's constant, the damping length of the wall layer and the level on the
    /// axis, which Cess took from the measurements of his time as 1/3 of what it would be without
    /// levelling off, and which is free here: 0.422, 26.2 and 0.243. One profile so gives the factor of
    /// diameter and chords, the velocity, and the mean and axis velocities of a smooth pipe.
    ///
    /// # From what data
    /// From 22 profiles at Reynolds numbers of 1.9e4 to 1.03e7: four simulations of J. Yao and others
    /// (J. Fluid Mech. 956 (2023) A18), two of X. Wu and P. Moin (J. Fluid Mech. 608 (2008) 81) and 16 of
    /// the superpipe (B. J. McKeon and others, J. Fluid Mech. 501 (2004) 135), each with five factors, its mean
    /// velocity and that on the axis. `tests/golden/generate/profile_fit.py` makes the largest residual
    /// small; the tests print every one. With Colebrook's friction, factors of diameters lie within
    /// 0.25 % of the superpipe and of Yao and within 0.46 % of Wu and Moin, chords up to 0.7 of the radius
    /// within 0.3 and 0.6 %, velocities within 2 %. Without any one of the sources the others predict it
    /// within the uncertainty.
    ///
    /// # What it cannot know
    /// Sources differ by 0.3 % from each other, systematically and for reasons that nobody knows, so no
    /// law can be better for a pipe of which nobody has measured the profile. Below a Reynolds number of
    /// 1.9e4 there is one profile, at 5300, 0.7 % above the law; it was not used. Measured excesses fall
    /// from 1.57 friction velocities at a Reynolds number of 7e4 to 1.48 at 1e6 where those of the law stay at
    /// 1.53; measured friction above Colebrook's makes up for it in a smooth pipe. No profile of a rough
    /// pipe with a measured pressure drop could be read: J. Nikuradse's report of 1933 has tables of them,
    /// and so has J. L. Gow's thesis of 1969, which were found by name only. That roughness acts through
    /// friction alone is an assumption there. Nor does the law know anything of bends upstream, of a pipe
    /// that is not round or of a liquid that is stratified.
    ///
    /// Its uncertainty: [`factor_uncertainty`](super::factor_uncertainty).
    #[default]
    Fitted,
    /// Eddy viscosity of Cess with kappa = 0.426, A+ = 25.4.
    Cess,
    /// Eddy viscosity of Cess with kappa = 0.40, A+ = 25.
    #[serde(rename = "cess_040")]
    Cess040,
    /// Law of the wall of Reichardt with kappa = 0.40 and his factor for the outer layer.
    Reichardt,
    /// Mixing length of Cantwell with the mean of his parameters.
    Cantwell,
}

impl WakeProfile {
    /// All profiles, the default first.
    pub const ALL: [WakeProfile; 5] = [
        WakeProfile::Fitted,
        WakeProfile::Cess,
        WakeProfile::Cess040,
        WakeProfile::Reichardt,
        WakeProfile::Cantwell,
    ];

    /// The profile in words.
    pub fn in_words(self) -> &'static str {
        match self {
            WakeProfile::Fitted => "Cess, fitted to measurements",
            WakeProfile::Cess => "Cess, kappa = 0.426",
            WakeProfile::Cess040 => "Cess, kappa = 0.40",
            WakeProfile::Reichardt => "Reichardt, kappa = 0.40",
            WakeProfile::Cantwell => "Cantwell, kappa = 0.4092",
        }
    }

    fn path_excess_series(self) -> &'static [f64] {
        match self {
            WakeProfile::Fitted => &wake_fit::FITTED,
            WakeProfile::Cess => &wake_fit::CESS,
            WakeProfile::Cess040 => &wake_fit::CESS_040,
            WakeProfile::Reichardt => &wake_fit::REICHARDT,
            WakeProfile::Cantwell => &wake_fit::CANTWELL,
        }
    }

    /// The shear `g = -(1/r) du+/dr`; `y = 1 - r` is given besides `r` to keep its digits at the
    /// wall.
    ///
    /// # Source
    /// Cess: R. D. Cess, Westinghouse Research Report 8-0529-R24 (1958), in the form of W. C.
    /// Reynolds and W. G. Tiederman, J. Fluid Mech. 27 (1967) 253; kappa = 0.426 and A+ = 25.4:
    /// J. C. del Alamo and J. Jimenez, J. Fluid Mech. 559 (2006) 205; kappa = 0.40 and A+ = 25 from
    /// memory; fitted constants: see [`WakeProfile::Fitted`]. Reichardt: H. Reichardt, Z. angew. Math. Mech. 31 (1951) 208 (from memory).
    /// Cantwell: B. J. Cantwell, J. Fluid Mech. 878 (2019) 834 (mean of kappa seen in the abstract;
    /// form and other parameters from memory).
    fn shear<S: Scalar>(self, r: S, y: S, friction_reynolds: S) -> S {
        match self {
            WakeProfile::Fitted => FITTED.shear(y, friction_reynolds),
            WakeProfile::Cess => CESS.shear(y, friction_reynolds),
            WakeProfile::Cess040 => CESS_040.shear(y, friction_reynolds),
            WakeProfile::Reichardt => reichardt(r, y, friction_reynolds),
            WakeProfile::Cantwell => cantwell(r, y, friction_reynolds),
        }
    }

    /// Path excess `Delta`: the mean velocity on a diametral path less the mean over the area, in
    /// units of the friction velocity.
    ///
    /// `friction_reynolds` is `R+`, 50 to 5e6. Evaluates the series of `wake_fit.rs`, which are good
    /// to 5e-9; in the factor that is less than a tenth as much.
    pub fn path_excess<S: Scalar>(self, friction_reynolds: S) -> S {
        self.path_excess_at(friction_reynolds.recip())
    }

    /// [`WakeProfile::path_excess`], where `viscous` is `1/R+`.
    pub(super) fn path_excess_at<S: Scalar>(self, viscous: S) -> S {
        let range = FRICTION_REYNOLDS.map(|at| series_variable(1.0 / at));
        chebyshev(self.path_excess_series(), range, series_variable(viscous))
    }

    /// Mean velocity on a chord at `offset` less that on a diameter, in units of the friction
    /// velocity: zero to the last bit where the offset is zero.
    ///
    /// `0 <= offset < 1`; the integrals are good to 1e-6.
    pub fn chord_difference<S: Scalar>(self, offset: S, friction_reynolds: S) -> S {
        let diameter = self.chord_mean(S::constant(0.0), friction_reynolds);
        self.chord_mean(offset, friction_reynolds) - diameter
    }

    /// `P(h)`. Nodes are clustered at the wall, `s = l (1 - w)` with `w` from [`wallward`].
    pub(super) fn chord_mean<S: Scalar>(self, offset: S, friction_reynolds: S) -> S {
        let square = -(offset * offset) + 1.0;
        let half_length = square.sqrt();
        integrate_wallward(friction_reynolds * square, |w| {
            let along = half_length * (-w + 1.0);
            let r = (offset * offset + along * along).sqrt();
            // 1 - r without loss of digits
            let y = square * w * (-w + 2.0) / (r + 1.0);
            along * along * self.shear(r, y, friction_reynolds)
        })
    }

    /// Velocity at `r` less its mean over the area, in units of the friction velocity.
    ///
    /// `0 <= r < 1`; good to 3e-4, which Cantwell's profile needs on the axis, where its slope is
    /// that of a root, and far better elsewhere.
    pub fn velocity_difference<S: Scalar>(self, r: S, friction_reynolds: S) -> S {
        let to_wall = -r + 1.0;
        let velocity = integrate_wallward(friction_reynolds * to_wall, |w| {
            let y = to_wall * w;
            let r = -y + 1.0;
            to_wall * r * self.shear(r, y, friction_reynolds)
        });
        velocity - self.bulk_velocity(friction_reynolds)
    }

    /// Mean velocity over the area of a smooth pipe, in friction velocities: the friction of the
    /// profile itself, `sqrt(8/f)`. The profile factor takes friction from a friction law and the
    /// excess alone from the profile, so that roughness can act.
    pub fn bulk_velocity<S: Scalar>(self, friction_reynolds: S) -> S {
        integrate_wallward(friction_reynolds, |w| {
            let r = -w + 1.0;
            r * r * r * self.shear(r, w, friction_reynolds)
        })
    }

    /// Velocity on the axis of a smooth pipe, in friction velocities.
    pub fn axis_velocity<S: Scalar>(self, friction_reynolds: S) -> S {
        let axis = self.velocity_difference(S::constant(0.0), friction_reynolds);
        axis + self.bulk_velocity(friction_reynolds)
    }
}

/// `(R+ + shift)^(-1/4)`, where `viscous` is `1/R+`.
fn series_variable<S: Scalar>(viscous: S) -> S {
    (viscous / (viscous * SHIFT + 1.0)).sqrt().sqrt()
}

/// The integral of `f(w)` from the wall, `w = 0`, to `w = 1`, where `scale` viscous lengths lie
/// between. With `b = 1 + scale/5` and `w = (b^t - 1)/(b - 1)` nodes even in `t` are even in the
/// distance from the wall up to five viscous lengths, and in its logarithm beyond.
fn integrate_wallward<S: Scalar>(scale: S, f: impl Fn(S) -> S) -> S {
    let base = scale / 5.0;
    let log_base = (base + 1.0).ln();
    let mut sum = S::constant(0.0);
    for node in unit_interval() {
        let power = (log_base * node.at).exp();
        let slope = log_base * power / base;
        sum += f((power - 1.0) / base) * slope * node.weight;
    }
    sum
}

/// Constants of Cess's eddy viscosity
///
/// ```text
/// 1 + nu_t/nu = 1/2 + 1/2 sqrt(1 + [kappa R+ s (1 - (1 - c) s) (1 - exp(-y+/A))]^2),   s = 1 - r^2
/// ```
/// With it the momentum balance of the pipe, `(1 + nu_t/nu) du+/dy+ = r`, gives the shear.
struct Cess {
    /// Von Karman's constant.
    kappa: f64,
    /// Damping length `A` of the wall layer, in viscous lengths.
    damping_length: f64,
    /// The factor `c` on the eddy viscosity of the outer layer on the axis; 1/3 after Cess.
    on_axis: f64,
}

const CESS: Cess = Cess {
    kappa: 0.426,
    damping_length: 25.4,
    on_axis: 1.0 / 3.0,
};

const CESS_040: Cess = Cess {
    kappa: 0.40,
    damping_length: 25.0,
    on_axis: 1.0 / 3.0,
};

/// Found by `tests/golden/generate/profile_fit.py`, rounded.
const FITTED: Cess = Cess {
    kappa: 0.422,
    damping_length: 26.2,
    on_axis: 0.243,
};

impl Cess {
    fn shear<S: Scalar>(&self, y: S, friction_reynolds: S) -> S {
        // 1 - r^2
        let square = y * (-y + 2.0);
        let outer =
            friction_reynolds * self.kappa * square * (-(square * (1.0 - self.on_axis)) + 1.0);
        let damping = -(-(y * friction_reynolds) / self.damping_length).exp() + 1.0;
        let turbulent = outer * damping;
        friction_reynolds * 2.0 / ((turbulent * turbulent + 1.0).sqrt() + 1.0)
    }
}

/// Shear of Reichardt's profile, with his factor `1.5 (1 + r)/(1 + 2 r^2)` in the logarithm.
fn reichardt<S: Scalar>(r: S, y: S, friction_reynolds: S) -> S {
    const KAPPA: f64 = 0.40;
    // the slope over y by dual numbers
    let y = Dual::<S, 1>::variable(y, 0);
    let outer = (-y + 2.0) * 1.5 / ((y * 2.0 - 4.0) * y + 3.0);
    let distance = y * Dual::fixed(friction_reynolds);
    let wall = -(-distance / 11.0).exp() + 1.0 - distance / 11.0 * (-distance / 3.0).exp();
    let velocity = (distance * outer * KAPPA + 1.0).ln() / KAPPA + wall * 7.8;
    velocity.gradient[0] / r
}

/// Shear of Cantwell's mixing length.
fn cantwell<S: Scalar>(r: S, y: S, friction_reynolds: S) -> S {
    let [kappa, a, m, b, n] = [0.4092, 20.095, 1.621, 0.3195, 1.619];
    let distance = y * friction_reynolds;
    let damping = -(-(distance / a).powf(S::constant(m))).exp() + 1.0;
    let outer = ((y / b).powf(S::constant(n)) + 1.0).powf(S::constant(1.0 / n));
    let length = distance * kappa * damping / outer;
    friction_reynolds * 2.0 / ((length * length * r * 4.0 + 1.0).sqrt() + 1.0)
}
