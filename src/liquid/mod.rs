//! Liquids in the pipe: sound speed, density and viscosity as plain physics, generic over
//! [`Scalar`](crate::scalar::Scalar).

mod formulation;
pub mod glycol;
pub mod seawater;
mod seawater_gibbs;
pub mod tabulated;
pub mod water;
mod water_fit;

pub use formulation::{FormulationUncertainties, FormulationUncertainty, Liquid, State};
