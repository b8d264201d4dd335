//! The profile factor solved together with the flow.

use super::factor::{SoundPath, TRANSITION, factor_of};
use super::friction::{ExplicitFriction, FrictionLaw};
use super::law::ProfileLaw;
use super::turbulent::PathExcess;
use crate::scalar::{ImplicitEquation, Scalar, SmoothFunction, implicit_root, newton};
use std::f64::consts::SQRT_2;

/// `k = K(k Re_path)`: the factor at the Reynolds number that it leads to. Of offset and shift only
/// those count that the path has.
struct FactorEquation {
    law: ProfileLaw,
    friction: FrictionLaw,
    has_offset: bool,
    has_shift: bool,
}

impl ImplicitEquation<4> for FactorEquation {
    fn residual<S: Scalar>(&self, k: S, [path_reynolds, roughness, offset, shift]: [S; 4]) -> S {
        let path = SoundPath {
            offset: self.has_offset.then_some(offset),
            intermittency_shift: self.has_shift.then_some(shift),
        };
        k - factor_of(&path, k * path_reynolds, roughness, self.law, self.friction)
    }
}

impl SmoothFunction<4> for FactorEquation {
    /// The root, in whatever state of flow.
    fn at<S: Scalar>(&self, parameters: [S; 4]) -> S {
        let start = S::Real::constant(START);
        if !self.has_offset {
            return implicit_root(self, start, STEPS, parameters);
        }
        let real = parameters.map(S::real);
        let on_diameter = FactorEquation {
            has_offset: false,
            ..*self
        };
        let diameter = implicit_root(&on_diameter, start, STEPS, real);
        // k = K(k Re_path) in turn, once
        let start = diameter - self.residual(diameter, real);
        implicit_root(self, start, CHORD_STEPS, parameters)
    }
}

/// Steps of Newton's method from [`START`]: three are enough in turbulent flow, eight in the
/// transition.
const STEPS: usize = 8;
const START: f64 = 0.93;
/// Steps for a chord from the solution for a diameter: two are enough in turbulent flow.
const CHORD_STEPS: usize = 6;

/// Turbulent flow on a diameter, with the path velocity over the friction velocity, `w`, as the
/// unknown. Friction and excess are explicit in the friction Reynolds number `R+`:
///
/// ```text
/// w = sqrt(8/f) + Delta(R+),   R+ = Re_path / (2 w)
/// k = 1 - Delta(R+) / w
/// ```
/// The parameters are `2 / Re_path` and the relative roughness.
struct TurbulentEquation {
    friction: ExplicitFriction,
    excess: PathExcess,
}

impl ImplicitEquation<2> for TurbulentEquation {
    fn residual<S: Scalar>(&self, w: S, [viscous, roughness]: [S; 2]) -> S {
        let viscous = viscous * w;
        let root = self.friction.root(viscous * (0.25 / SQRT_2), roughness);
        w - root * (2.0 * SQRT_2) - self.excess.at(viscous)
    }
}

/// The unknown is 12 to 40; it is 22 at a Reynolds number of 1e5 in a smooth pipe.
const TURBULENT_START: f64 = 22.0;
/// Excess at high Reynolds numbers, about, for a first step that knows no profile.
const TURBULENT_EXCESS: PathExcess = PathExcess::Constant(1.4);
/// After the first step the error is below 0.5; each further one squares it and divides it by some
/// hundred, and of what is left the factor has a hundredth.
const TURBULENT_STEPS: usize = 3;

impl SmoothFunction<2> for TurbulentEquation {
    /// The profile factor of turbulent flow on a diameter.
    fn at<S: Scalar>(&self, [path_reynolds, relative_roughness]: [S; 2]) -> S {
        let viscous = path_reynolds.recip() * 2.0;
        let parameters = [viscous, relative_roughness];
        let first = TurbulentEquation {
            excess: TURBULENT_EXCESS,
            ..*self
        };
        let start = S::Real::constant(TURBULENT_START);
        let start = newton(&first, start, 1, parameters.map(S::real));
        let w = implicit_root(self, start, TURBULENT_STEPS, parameters);
        -(self.excess.at(viscous * w) / w) + 1.0
    }
}

/// The profile factor solved together with the flow.
///
/// `path_reynolds` is the Reynolds number of the path-mean velocity, `Re / k`. The result is the
/// root of `k = K(k Re_path)`, which is single because `K` rises by less than its argument.
///
/// The laws hold in the range that [`check_laws`](super::check_laws) states in words.
pub fn factor_for_path_velocity<S: Scalar>(
    path_reynolds: S,
    relative_roughness: S,
    law: ProfileLaw,
    friction: FrictionLaw,
) -> S {
    let path = SoundPath::diameter();
    factor_for_velocity_on(&path, path_reynolds, relative_roughness, law, friction)
}

/// The profile factor of a chord solved together with the flow: as [`factor_for_path_velocity`],
/// for the Reynolds number of the mean velocity on a chord at `offset`, see [`chord_factor`](super::chord_factor). At an
/// offset of zero both agree but for the last bits, for they start elsewhere.
///
/// `0 <= offset <= 0.7`, see [`check_offset`](super::check_offset). Where the law is one with wake, the mean over a
/// chord is an integral and not a series, and costs far more than a diametral path.
pub fn factor_for_chord_velocity<S: Scalar>(
    path_reynolds: S,
    relative_roughness: S,
    offset: S,
    law: ProfileLaw,
    friction: FrictionLaw,
) -> S {
    let path = SoundPath::chord(offset);
    factor_for_velocity_on(&path, path_reynolds, relative_roughness, law, friction)
}

/// The profile factor of any path solved together with the flow, with the doubt of the
/// intermittency; see [`factor_for_path_velocity`].
pub fn factor_for_velocity_on<S: Scalar>(
    path: &SoundPath<S>,
    path_reynolds: S,
    relative_roughness: S,
    law: ProfileLaw,
    friction: FrictionLaw,
) -> S {
    let zero = S::constant(0.0);
    let parameters = [
        path_reynolds,
        relative_roughness,
        path.offset.unwrap_or(zero),
        path.intermittency_shift.unwrap_or(zero),
    ];
    let equation = FactorEquation {
        law,
        friction,
        has_offset: path.offset.is_some(),
        has_shift: path.intermittency_shift.is_some(),
    };
    let any_flow = || S::function_of(parameters, &equation);
    match (
        path.offset,
        ExplicitFriction::of(friction),
        PathExcess::of(law),
    ) {
        (None, Some(friction), Some(excess)) => {
            let turbulent = TurbulentEquation { friction, excess };
            let k = S::function_of([path_reynolds, relative_roughness], &turbulent);
            // if turbulent flow leads above the transition, it is turbulent all the time; far below,
            // what looks like a root need be none, but a factor is below one
            let reynolds = S::constant(1.0).min(k) * path_reynolds;
            let above = S::constant(TRANSITION[1]).less_than(reynolds);
            S::choose(above, || k, any_flow)
        }
        _ => any_flow(),
    }
}
