//! The uncertainty of profile factor and friction factor, from residuals against measurements.

use super::conditions::Conditions;
use super::factor::factor_of;
use super::friction::{FrictionLaw, friction_factor};
use super::law::ProfileLaw;
use super::transition::LEAST_TURBULENT;
use super::turbulent::{factor_on, friction_velocity};
use crate::scalar::Scalar;

/// Standard uncertainty of the excess of a path mean over the area mean, of the default law in a smooth
/// pipe, in friction velocities.
///
/// Residuals of the default law within one source scatter by 0.02 to 0.03; those of the three sources
/// have means that scatter by 0.035. Both together, as for a pipe of which nobody has measured the
/// profile.
const EXCESS: f64 = 0.04;
/// Friction Reynolds number at which that is larger by a factor of 1.4 (Reynolds number 11 500): one
/// simulation, at 181, lies 0.13 off.
const LOW_FRICTION_REYNOLDS: f64 = 350.0;
/// Offset at which it is larger by a factor of 1.4: sources differ most far from the axis.
const FAR_OFFSET: f64 = 0.7;
/// What full roughness adds. Judgement: no profile of a rough pipe with a measured pressure drop
/// could be read; measured deficits on the axis of rough pipes, 4.07 (J. Nikuradse 1933, from memory),
/// and ours, 4.43, differ by six times as much, so that outer similarity holds to about this.
const ROUGH_EXCESS: f64 = 0.06;

/// Relative standard uncertainty of the factor of developed laminar flow: the parabola is exact, and
/// one measured profile meets it within 0.3 % (V. E. Senecal, thesis 1951, at a Reynolds number of
/// 1117).
const LAMINAR: f64 = 0.003;

/// Relative standard uncertainty of the friction factor of a smooth pipe: Colebrook's against 18 points
/// from 4835 to 1.05e6 of B. J. McKeon and others, J. Fluid Mech. 511 (2004) 41 (root of the mean square).
const SMOOTH_FRICTION: f64 = 0.024;
/// What is added halfway from smooth to fully rough: grains of one size dip up to 20 % below
/// Colebrook's law there (J. Nikuradse, VDI-Forschungsheft 361, 1933), roughness of all sizes does not.
const HALFWAY_FRICTION: f64 = 0.12;

/// The share of roughness in Colebrook's logarithm: 0 in a smooth pipe, 1 in a fully rough one.
///
/// ```text
/// rho = (e/3.7) / (e/3.7 + 2.51/(Re sqrt(f)))
/// ```
fn share_of_roughness<S: Scalar>(reynolds: S, relative_roughness: S) -> S {
    let f = friction_factor(reynolds, relative_roughness, FrictionLaw::Colebrook);
    let rough = relative_roughness / 3.7;
    rough / (rough + (reynolds * f.sqrt()).recip() * 2.51)
}

/// Relative standard uncertainty of the friction factor of turbulent flow, where the roughness is
/// known.
///
/// ```text
/// u(f)/f = sqrt(0.024^2 + (0.12 * 4 rho (1 - rho))^2)
/// ```
/// `rho` is the share of roughness in Colebrook's logarithm. A factor of two in the roughness changes
/// `f` by some 15 to 25 % in a rough pipe; that belongs to the uncertainty of the roughness.
///
/// `reynolds` from 1400 up; below, the value at 1400.
pub fn friction_uncertainty<S: Scalar>(reynolds: S, relative_roughness: S) -> S {
    let reynolds = reynolds.max(S::constant(LEAST_TURBULENT));
    let rho = share_of_roughness(reynolds, relative_roughness);
    let halfway = rho * (-rho + 1.0) * (4.0 * HALFWAY_FRICTION);
    (halfway * halfway + SMOOTH_FRICTION * SMOOTH_FRICTION).sqrt()
}

/// Relative standard uncertainty of the profile factor of developed flow, where friction and transition
/// are known: they have uncertainties of their own, see [`friction_uncertainty`] and
/// [`TRANSITION_REYNOLDS_LIMITS`](super::TRANSITION_REYNOLDS_LIMITS).
///
/// ```text
/// turbulent:  u(k)/k = k sqrt(f/8) s
///             s^2 = 0.04^2 (1 + (350/R+)^2) (1 + (h/0.7)^4) + (0.06 rho)^2
/// laminar:    u(k)/k = 0.003
/// ```
/// `s` is in friction velocities, `R+` the friction Reynolds number, `h` the offset of the path in
/// radii, `rho` the share of roughness in Colebrook's logarithm. In the transition both count by their
/// shares of the path mean. Of the default law in a smooth pipe that is 0.24 % at a Reynolds number of
/// 2e4, 0.18 % at 1e5 and 0.14 % at 1e6. To that of another law its distance from the default law is
/// added in quadrature: what the measurements reject does not become right by being chosen.
///
/// # Source
/// Residuals against the profiles of J. Yao and others 2023, X. Wu and P. Moin 2008 and B. J. McKeon
/// and others 2004; see [`WakeProfile`](super::WakeProfile). The tests print and check them.
pub fn factor_uncertainty<S: Scalar>(
    conditions: &Conditions<S>,
    reynolds: S,
    relative_roughness: S,
    law: ProfileLaw,
    friction: FrictionLaw,
) -> S {
    let gamma = conditions.intermittency(reynolds);
    let at = reynolds.max(S::constant(LEAST_TURBULENT));
    let default = ProfileLaw::default();
    let k = factor_on(conditions, at, relative_roughness, default, friction);
    let u = friction_velocity(at, relative_roughness, friction, conditions.friction_ratio);
    let rho = share_of_roughness(at, relative_roughness);
    let excess = excess_uncertainty(conditions, at * u * 0.5, rho);
    // shares of the path mean
    let turbulent = gamma * u * excess;
    let laminar = (-gamma + 1.0) / conditions.laminar_factor() * LAMINAR;
    let path_mean = (-gamma + 1.0) / conditions.laminar_factor() + gamma / k;
    let own = (turbulent * turbulent + laminar * laminar).sqrt() / path_mean;
    if law == default {
        return own;
    }
    let chosen = factor_of(conditions, reynolds, relative_roughness, law, friction);
    let distance = chosen * path_mean - 1.0;
    (own * own + distance * distance).sqrt()
}

/// Standard uncertainty of the excess in friction velocities.
fn excess_uncertainty<S: Scalar>(
    conditions: &Conditions<S>,
    friction_reynolds: S,
    share_of_roughness: S,
) -> S {
    let low = friction_reynolds.recip() * LOW_FRICTION_REYNOLDS;
    let smooth = (low * low + 1.0) * (EXCESS * EXCESS);
    let smooth = match conditions.offset {
        Some(offset) => smooth * ((offset / FAR_OFFSET).powi(4) + 1.0),
        None => smooth,
    };
    let rough = share_of_roughness * ROUGH_EXCESS;
    (smooth + rough * rough).sqrt()
}

/// Length in inside diameters after which laminar flow is developed: the velocity on the axis is within
/// 1 % of that far downstream.
///
/// # Source
/// Common practice, `0.06 Re` (0.05 to 0.06 in textbooks; from memory).
pub fn laminar_entrance_length<S: Scalar>(reynolds: S) -> S {
    reynolds * 0.06
}

/// Relative half-width of the profile factor of laminar flow that is still developing.
///
/// ```text
/// (1/3) exp(-ln(50) L/(0.06 Re)),   times the share of laminar flow in the transition
/// ```
/// A flat profile has a factor of one, a third above that of the parabola; what is left of the
/// difference falls exponentially and is 2 % of it at the entrance length, where the velocity on the axis,
/// which rises from one to two mean velocities, is within 1 % of the latter. It is an uncertainty and
/// no correction, for nobody knows the profile at the inlet.
///
/// `straight_run` is the length since the last fitting, in inside diameters.
pub fn entrance_half_width<S: Scalar>(
    conditions: &Conditions<S>,
    reynolds: S,
    straight_run: f64,
) -> S {
    const LN_50: f64 = 3.912_023_005_428_146;
    let laminar = -conditions.intermittency(reynolds) + 1.0;
    let left = (laminar_entrance_length(reynolds).recip() * (-LN_50 * straight_run)).exp();
    laminar * left / 3.0
}

/// Relative half-width of the profile factor where the beam may have any width up to `widest`, over the
/// inside diameter.
///
/// ```text
/// turbulent:  1.7 sqrt(f/8) b^2
/// laminar:    b^2 / 3
/// ```
/// A wide beam sees slower liquid beside the axis, so that the factor is above that of a thin one, by
/// this much at most. The numbers are those of averages over chords of the default law, good to a tenth
/// up to half of the bore. In the transition both count by their shares of time.
pub fn beam_half_width<S: Scalar>(
    conditions: &Conditions<S>,
    reynolds: S,
    relative_roughness: S,
    friction: FrictionLaw,
    widest: S,
) -> S {
    const CURVATURE: f64 = 1.7;
    let gamma = conditions.intermittency(reynolds);
    let at = reynolds.max(S::constant(LEAST_TURBULENT));
    let u = friction_velocity(at, relative_roughness, friction, conditions.friction_ratio);
    let curvature = gamma * u * CURVATURE + (-gamma + 1.0) / 3.0;
    curvature * widest * widest
}
