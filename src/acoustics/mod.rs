//! The sound path: refraction through wedge, wall, liner and liquid, and the times that follow.
//!
//! Plain physics, generic over [`Scalar`](crate::scalar::Scalar). Angles are counted from the
//! normal of the pipe wall and are in radians.

mod path;
mod refraction;
mod velocity;

pub use path::{Geometry, Layer, Path, check, check_traverses};
pub use refraction::{axial_slowness, refracted_sine};
pub use velocity::{velocity_from_geometry, velocity_from_time, velocity_of_programmed_meter};
