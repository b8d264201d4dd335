//! The axial velocity of a disturbed flow.

use crate::scalar::Scalar;

/// The `n` of the undisturbed power law `(1 - r)^(1/n)`: its profile factor, 0.933, is that of the
/// default law at the Reynolds numbers (7e4 and 1e5) of the measurements downstream of one bend.
const N: f64 = 7.0;
/// The exponent `1/k` with which the disturbance falls to zero at the wall; `k = 4` is our choice.
const A: f64 = 1.0 / 4.0;

/// Mean of `(1 - r)^(1/n)` over a diametral path and over the area.
const PATH_OF_POWER: f64 = N / (N + 1.0);
const AREA_OF_POWER: f64 = 2.0 * N * N / ((N + 1.0) * (2.0 * N + 1.0));
/// Mean of `r (1 - r)^a` over a diametral path, `B(2, 1 + a)`, and over the area, `2 B(3, 1 + a)`.
const PATH_OF_RING: f64 = 1.0 / ((A + 1.0) * (A + 2.0));
const AREA_OF_RING: f64 = 4.0 / ((A + 1.0) * (A + 2.0) * (A + 3.0));

/// The axial velocity over the cross-section, in area mean velocities:
///
/// ```text
/// u(r, t) = (1 - r)^(1/n) + r (1 - r)^(1/k) [flattening + skew cos(t - axis) + lobes cos 2(t - axis)]
/// w(r, t) = u(r, t) / <u>
/// ```
/// with the radius `r` in pipe radii, the angle `t` around the axis, `n = 7`, `k = 4` and the area
/// mean `<u>`. So the area mean of `w` is one whatever the coefficients.
///
/// `skew` moves flow from one side to the other. It is odd across the axis and changes neither the
/// area mean nor the mean of any diametral path. `flattening` moves flow from the core to the ring
/// around it: a positive one makes diametral paths read low. `lobes` makes the reading depend on
/// the orientation of the path.
///
/// Downstream of a bend `flattening` is positive and `lobes` negative, so a path in the plane of the bend
/// reads lowest. This follows where the two cells of secondary flow
/// ([`CrossFlow`](super::CrossFlow)) carry the undisturbed profile along by about one pipe radius:
/// fast liquid goes to the outer side and around to both flanks, slow liquid from the inner side
/// comes into the core. To first order in the displacement that is a skew; flattening and lobes are
/// of second order, so they decay twice as fast.
///
/// # Source
/// The general form, a power law with `m r (1 - r)^(1/k) f(t)` added: L. A. Salami, IMechE Conf.
/// 1984, and P. I. Moore, G. J. Brown and B. P. Stimpson, Meas. Sci. Technol. 11 (2000) 1802 (both
/// from memory); the angular function as a short Fourier series is ours. Salami's own set has one
/// symmetric profile, three with one peak and two with two.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DisturbedProfile<S> {
    /// Axisymmetric coefficient: positive flattens, negative makes peaked.
    pub flattening: S,
    /// Coefficient of `cos(t - axis)`.
    pub skew: S,
    /// Coefficient of `cos 2(t - axis)`.
    pub lobes: S,
    /// Angle of the fast side, in rad.
    pub axis: S,
}

impl<S: Scalar> DisturbedProfile<S> {
    /// The undisturbed profile.
    pub fn undisturbed() -> DisturbedProfile<S> {
        let zero = S::constant(0.0);
        DisturbedProfile {
            flattening: zero,
            skew: zero,
            lobes: zero,
            axis: zero,
        }
    }

    /// Axial velocity in area mean velocities; `radius` in pipe radii, 0 to 1; `angle` in rad.
    pub fn velocity(&self, radius: S, angle: S) -> S {
        let from_wall = -radius + 1.0;
        let t = angle - self.axis;
        let around = self.flattening + self.skew * t.cos() + self.lobes * (t * 2.0).cos();
        let power = |exponent: f64| from_wall.powf(S::constant(exponent));
        (power(1.0 / N) + radius * power(A) * around) / self.area_mean()
    }

    /// The area mean `<u>` before it is divided out.
    fn area_mean(&self) -> S {
        self.flattening * AREA_OF_RING + AREA_OF_POWER
    }

    /// Mean axial velocity on the diametral path at `orientation` (rad), in area mean velocities:
    /// the reciprocal of the profile factor.
    ///
    /// ```text
    /// path mean = [n/(n+1) + B(2, 1 + 1/k) (flattening + lobes cos 2(orientation - axis))] / <u>
    /// <u>       = 2 n^2 / ((n+1)(2n+1)) + 2 B(3, 1 + 1/k) flattening
    /// ```
    /// All traverses of a reflected path cross the same diameter, so their number does not matter.
    pub fn path_mean(&self, orientation: S) -> S {
        self.path_mean_with(self.lobes * ((orientation - self.axis) * 2.0).cos())
    }

    /// The mean of [`Self::path_mean`] over all orientations. Two paths at right angles to each
    /// other have this mean at any orientation, for the lobes cancel.
    pub fn path_mean_of_crossed(&self) -> S {
        self.path_mean_with(S::constant(0.0))
    }

    fn path_mean_with(&self, lobes_on_path: S) -> S {
        let even = self.flattening + lobes_on_path;
        (even * PATH_OF_RING + PATH_OF_POWER) / self.area_mean()
    }
}
