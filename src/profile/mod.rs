//! The velocity profile: how the mean over a diametral path relates to the mean over the area.
//!
//! Plain physics, generic over [`Scalar`](crate::scalar::Scalar). The Reynolds number is that of
//! the area mean velocity and the inside diameter; relative roughness is equivalent sand
//! roughness over inside diameter. Profiles behind fittings are in [`disturbance`].

pub mod disturbance;
mod factor;
mod friction;
mod law;
mod power;
mod quadrature;
mod spread;
mod steps;
mod turbulent;
mod wake;
mod wake_fit;
mod with_flow;

pub use factor::{
    LAMINAR_FACTOR, MOST_OFFSET, Regime, SoundPath, TRANSITION, check, check_laws, check_offset,
    check_radius, check_turbulent, chord_factor, correction_factor, intermittency, mean_factor,
    velocity_shape,
};
pub use friction::{FrictionLaw, friction_factor};
pub use law::{LOGARITHMIC_CONSTANTS, LogarithmicConstants, ProfileLaw};
pub use power::Exponent;
pub use spread::{INTERMITTENCY_HALF_WIDTH, law_half_width};
pub(crate) use steps::FactorSteps;
pub use turbulent::turbulent_factor;
pub use wake::WakeProfile;
pub use with_flow::{factor_for_chord_velocity, factor_for_path_velocity, factor_for_velocity_on};
