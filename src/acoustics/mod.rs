//! The sound path: refraction through wedge, wall, liner and liquid, and the times that follow.
//!
//! Plain physics, generic over [`Scalar`](crate::scalar::Scalar). Angles are counted from the
//! normal of the pipe wall and are in radians.

mod check;
mod graded;
mod layered_pipe;
mod path;
mod placement;
mod refraction;
mod sound_speed;
mod spacing;
mod velocity;

pub use check::{NamedLayer, check_layers, check_refraction, check_traverses};
pub use graded::graded_crossing;
pub use layered_pipe::{Aim, LayeredPipe, TracedPath};
pub use path::{Geometry, Layer, Path};
pub use placement::{chord_length, offset_of_misplacement};
pub use refraction::{axial_slowness, refracted_sine};
pub use sound_speed::{sound_speed_at_slowness, sound_speed_at_spacing};
pub use spacing::slowness_of_spacing;
pub use velocity::{
    convected, mean_time_in_flow, time_difference_of_velocity, velocity_from_geometry,
    velocity_from_time,
};
