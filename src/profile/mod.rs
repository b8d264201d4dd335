//! The velocity profile: how the mean over a diametral path relates to the mean over the area.
//!
//! Plain physics, generic over [`Scalar`](crate::scalar::Scalar). The Reynolds number is that of
//! the area mean velocity and the inside diameter; relative roughness is equivalent sand
//! roughness over inside diameter. Profiles behind fittings are in [`disturbance`].

pub mod disturbance;
mod factor;
mod friction;
mod law;
mod spread;
mod wake_fit;

pub use factor::{
    LAMINAR_FACTOR, Regime, TRANSITION, check, check_turbulent, correction_factor,
    factor_for_path_velocity, intermittency,
};
pub use friction::{FrictionLaw, friction_factor};
pub use law::{ProfileLaw, path_excess, turbulent_factor};
pub use spread::law_half_width;
