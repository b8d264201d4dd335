//! Disturbed profiles downstream of fittings, and what a diametral path makes of them.
//!
//! Plain physics, generic over [`Scalar`](crate::scalar::Scalar), in three parts. The axial
//! velocity has an analytic shape ([`DisturbedProfile`]) whose mean over any diametral path is
//! known in closed form. The cross flow ([`CrossFlow`]) acts on direct paths only. A table of
//! coefficients gives both for each [`Fitting`], with their decay over the straight run.
//!
//! # Conventions
//! Straight runs are in inside diameters `D`, from the end of the fitting to the middle of the
//! sound path. Angles are in radians around the pipe axis. Zero is the outer side of the bend that
//! is nearest upstream, so a path at zero lies in the plane of that bend. For a valve zero is the
//! direction of its stem, for an eccentric reducer or enlargement that of the eccentricity. On two
//! bends out of plane and downstream of pumps, angles count in the sense in which the flow turns.
//!
//! # How far to trust it
//! The shapes are published; their coefficients are ours, and they rest on little. The axial profile of
//! one bend reproduces the orders of magnitude of P. Synowiec et al., Sensors 21 (2021) 868
//! (abstract). Its cross flow falls as the readings of one in-line meter do, 5 and 10 D downstream of one
//! bend (a national laboratory, 2013, in the public repository McGinty666/NEL-data; that its paths lie in
//! one plane at 45 degrees is inferred). That the flow recovers after 10 to 40 D at a Reynolds number of
//! 5600 and 10 to 30 D at 1e4 is from an abstract (Appl. Sci. 14 (2024) 7895). All other fittings are
//! judgement from memory. [`installation_half_width`] is wide accordingly, and Sensors 25 (2025) 4011
//! (abstract) holds that fixed coefficients cannot correct a single path downstream of strong
//! disturbances at all.

mod advice;
mod coefficients;
mod cross_flow;
mod factor;
mod fitting;
mod shape;
mod straight_run;
mod uncertainty;

pub(crate) use advice::caution_told;
pub use advice::{Recommendation, StraightRuns, caution, recommended_orientation, straight_runs};
pub use cross_flow::{CrossFlow, TYPICAL_ANGLE_IN_LIQUID, cross_flow, swirl_decay_rate};
pub use factor::{Mounting, Planes, disturbed_profile, installation_factor, path_error};
pub use fitting::Fitting;
pub use shape::DisturbedProfile;
pub use straight_run::{STRAIGHT_RUNS, check_straight_run};
pub use uncertainty::{cross_flow_half_width, installation_half_width, installation_uncertainty};
