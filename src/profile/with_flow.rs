//! The profile factor solved together with the flow.

use super::conditions::Conditions;
use super::factor::factor_of;
use super::friction::{ExplicitFriction, FrictionLaw};
use super::law::ProfileLaw;
use super::transition::{TRANSITION_REYNOLDS, end_of_transition};
use super::turbulent::PathExcess;
use crate::scalar::{
    ImplicitEquation, Scalar, SmoothFunction, bracketed_root, implicit_root, newton,
};
use std::f64::consts::SQRT_2;

/// `k = K(k Re_path)`: the factor at the Reynolds number that it leads to. Of the conditions only
/// those count that are given.
struct FactorEquation {
    law: ProfileLaw,
    friction: FrictionLaw,
    given: Conditions<()>,
}

impl FactorEquation {
    fn conditions<S: Scalar>(
        &self,
        [offset, beam, transition_reynolds, friction_ratio]: [S; 4],
    ) -> Conditions<S> {
        Conditions {
            offset: self.given.offset.map(|()| offset),
            beam: self.given.beam.map(|()| beam),
            transition_reynolds: self.given.transition_reynolds.map(|()| transition_reynolds),
            friction_ratio: self.given.friction_ratio.map(|()| friction_ratio),
        }
    }
}

impl ImplicitEquation<6> for FactorEquation {
    fn residual<S: Scalar>(&self, k: S, p: [S; 6]) -> S {
        let [path_reynolds, roughness, offset, beam, transition, friction] = p;
        let conditions = self.conditions([offset, beam, transition, friction]);
        k - factor_of(
            &conditions,
            k * path_reynolds,
            roughness,
            self.law,
            self.friction,
        )
    }
}

impl SmoothFunction<6> for FactorEquation {
    /// The root, in whatever state of flow.
    fn at<S: Scalar>(&self, parameters: [S; 6]) -> S {
        bracketed_root(self, BRACKET, STEPS, parameters)
    }
}

/// Factors of all laws, paths and states of flow lie between these.
const BRACKET: [f64; 2] = [0.6, 1.8];
/// Of Newton's method, held by the bracket: five are enough in turbulent flow, ten in the transition
/// of every law.
const STEPS: usize = 12;

/// Turbulent flow on a diameter, with the path velocity over the friction velocity, `w`, as the
/// unknown. Friction and excess are explicit in the friction Reynolds number `R+`:
///
/// ```text
/// w = sqrt(8/f) + Delta(R+),   R+ = Re_path / (2 w)
/// k = 1 - Delta(R+) / w
/// ```
/// The parameters are `2 / Re_path`, the relative roughness and the square root of the true friction
/// factor over that of the law.
struct TurbulentEquation {
    friction: ExplicitFriction,
    excess: PathExcess,
}

impl ImplicitEquation<3> for TurbulentEquation {
    fn residual<S: Scalar>(&self, w: S, [viscous, roughness, ratio]: [S; 3]) -> S {
        let viscous = viscous * w;
        let law = viscous * ratio * (0.25 / SQRT_2);
        let root = self.friction.root(law, roughness) / ratio;
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

impl SmoothFunction<3> for TurbulentEquation {
    /// The profile factor of turbulent flow on a diameter.
    fn at<S: Scalar>(&self, [path_reynolds, relative_roughness, friction_ratio]: [S; 3]) -> S {
        let viscous = path_reynolds.recip() * 2.0;
        let parameters = [viscous, relative_roughness, friction_ratio.sqrt()];
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
/// root of `k = K(k Re_path)`. It is single, because the logarithm of `K` rises by less than that of its
/// argument: by 0.96 of it at most, whatever the Reynolds number of the transition.
///
/// The laws hold in the range that [`check_laws`](super::check_laws) states in words.
pub fn factor_for_path_velocity<S: Scalar>(
    path_reynolds: S,
    relative_roughness: S,
    law: ProfileLaw,
    friction: FrictionLaw,
) -> S {
    let conditions = Conditions::diameter();
    factor_for_velocity_on(
        &conditions,
        path_reynolds,
        relative_roughness,
        law,
        friction,
    )
}

/// The profile factor of a chord solved together with the flow: as [`factor_for_path_velocity`],
/// for the Reynolds number of the mean velocity on a chord at `offset`, see
/// [`chord_factor`](super::chord_factor). At an offset of zero both agree but for the last bits, for
/// they are found otherwise.
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
    let conditions = Conditions::chord(offset);
    factor_for_velocity_on(
        &conditions,
        path_reynolds,
        relative_roughness,
        law,
        friction,
    )
}

/// The profile factor of any path solved together with the flow; see [`factor_for_path_velocity`].
pub fn factor_for_velocity_on<S: Scalar>(
    conditions: &Conditions<S>,
    path_reynolds: S,
    relative_roughness: S,
    law: ProfileLaw,
    friction: FrictionLaw,
) -> S {
    let (zero, one) = (S::constant(0.0), S::constant(1.0));
    let transition = conditions.transition_reynolds;
    let transition = transition.unwrap_or(S::constant(TRANSITION_REYNOLDS));
    let ratio = conditions.friction_ratio.unwrap_or(one);
    let parameters = [
        path_reynolds,
        relative_roughness,
        conditions.offset.unwrap_or(zero),
        conditions.beam.unwrap_or(zero),
        transition,
        ratio,
    ];
    let equation = FactorEquation {
        law,
        friction,
        given: conditions.given(),
    };
    let any_flow = || S::function_of(parameters, &equation);
    let explicit = (ExplicitFriction::of(friction), PathExcess::of(law));
    let (true, (Some(friction), Some(excess))) = (conditions.is_thin_diameter(), explicit) else {
        return any_flow();
    };
    let turbulent = TurbulentEquation { friction, excess };
    let k = S::function_of([path_reynolds, relative_roughness, ratio], &turbulent);
    // if turbulent flow leads above the transition, it is turbulent all the time; far below,
    // what looks like a root need be none, but a factor is below one
    let reynolds = one.min(k) * path_reynolds;
    let above = end_of_transition(transition).less_than(reynolds);
    S::choose(above, || k, any_flow)
}
