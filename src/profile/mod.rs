//! The velocity profile: how the mean over a diametral path relates to the mean over the area.
//!
//! Plain physics, generic over [`Scalar`](crate::scalar::Scalar). The Reynolds number is that of
//! the area mean velocity and the inside diameter; relative roughness is equivalent sand
//! roughness over inside diameter. Profiles downstream of fittings are in [`disturbance`].

mod conditions;
pub mod disturbance;
mod factor;
mod friction;
mod law;
mod power;
mod quadrature;
mod steps;
mod transition;
mod turbulent;
mod uncertainty;
mod wake;
mod wake_fit;
mod with_flow;

pub use conditions::{Conditions, LAMINAR_FACTOR, check_beam, check_friction_ratio};
pub use factor::{
    MOST_OFFSET, check, check_laws, check_offset, check_radius, check_turbulent, chord_factor,
    correction_factor, factor_of, mean_factor, velocity_shape,
};
pub use friction::{FrictionLaw, friction_factor};
pub use law::{LOGARITHMIC_CONSTANTS, LogarithmicConstants, ProfileLaw};
pub use power::Exponent;
pub(crate) use steps::FactorSteps;
pub use transition::{
    Regime, TRANSITION, TRANSITION_REYNOLDS, TRANSITION_REYNOLDS_LIMITS, check_transition,
    intermittency,
};
pub use turbulent::turbulent_factor;
pub use uncertainty::{
    beam_half_width, entrance_half_width, factor_uncertainty, friction_uncertainty,
    laminar_entrance_length,
};
pub use wake::WakeProfile;
pub use with_flow::{factor_for_chord_velocity, factor_for_path_velocity, factor_for_velocity_on};
