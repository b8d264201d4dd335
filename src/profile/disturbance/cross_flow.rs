//! Flow across the pipe, and what it does to direct and reflected paths.

use super::Fitting;
use super::coefficients::coefficients;
use super::straight_run::{FRICTION_FACTOR, STRAIGHT_RUNS, remaining};
use crate::scalar::Scalar;

/// Angle of the ray in the liquid from the normal of the wall where it is not known: about that in
/// water with the usual plastic wedges. Common practice, no source.
pub const TYPICAL_ANGLE_IN_LIQUID: f64 = 22.0 * std::f64::consts::PI / 180.0;

/// Length over which two counter-rotating cells fall to 1/e, in inside diameters.
///
/// # Source
/// The only readings found: those of an in-line ultrasonic meter with paths in one plane, 5 and 10 D
/// downstream of one bend, -6.9 % and -2.8 % (tests of a national laboratory, 2013, in the public
/// repository McGinty666/NEL-data): a fall to 1/e in 5.5 D.
const CELLS_DECAY: f64 = 6.0;
/// Distance of the centre of a swirl from the axis one diameter downstream of a fitting, in pipe radii,
/// and the length over which it falls to 1/e (judgement). It falls slowly: a strong swirl was found
/// off the axis from 3 to 67 D, now on one side, now on the other (ASME FEDSM 2003, p. 1061,
/// abstract).
const OFFSET: f64 = 0.1;
const OFFSET_DECAY: f64 = 20.0;

/// The velocity across the pipe, in area mean velocities: two counter-rotating cells and a swirl.
///
/// ```text
/// cells:  v_r = V (1 - r^2) cos t,   v_t = -V (1 - 3 r^2) sin t
/// swirl:  v   = v_wall e_z x (x - x_c),   |x_c| = offset
/// ```
/// The cells stream outwards through the core and back along the walls; they have no divergence
/// and no flow through the wall. The swirl turns as a solid body about a centre that may lie off
/// the axis: the core of a Rankine vortex as wide as the pipe. Off the axis it is a good picture of
/// the core only, since it crosses the wall by `v_wall offset`.
///
/// # Source
/// Cells: W. R. Dean, Phil. Mag. 4 (1927) 208, whose stream function has the factor `(1 - r^2)^2`
/// and more (from memory); the simplest polynomial with the same symmetry is used.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CrossFlow<S> {
    /// Velocity `V` of the cells on the axis, positive towards angle zero.
    pub cells: S,
    /// Tangential velocity `v_wall` of the swirl at one pipe radius from its centre.
    pub swirl: S,
    /// Distance of the centre of the swirl from the axis, in pipe radii.
    pub offset: S,
    /// Angle at which that centre lies, in rad.
    pub offset_angle: S,
}

impl<S: Scalar> CrossFlow<S> {
    /// The components towards angle 0 and angle 90 degrees; `radius` in pipe radii.
    pub fn velocity(&self, radius: S, angle: S) -> [S; 2] {
        let (cosine, sine) = (angle.cos(), angle.sin());
        let square = radius * radius;
        let radial = self.cells * (-square + 1.0) * cosine;
        let tangential = self.cells * (square * 3.0 - 1.0) * sine;
        let x = radius * cosine - self.offset * self.offset_angle.cos();
        let y = radius * sine - self.offset * self.offset_angle.sin();
        [
            radial * cosine - tangential * sine - self.swirl * y,
            radial * sine + tangential * cosine + self.swirl * x,
        ]
    }

    /// Mean component along the diameter at `orientation` (rad), positive towards that angle:
    ///
    /// ```text
    /// (2/3) V cos(orientation) - v_wall offset sin(orientation - offset_angle)
    /// ```
    /// A swirl about the axis itself has none.
    pub fn path_mean(&self, orientation: S) -> S {
        let of_cells = self.cells * orientation.cos() * (2.0 / 3.0);
        of_cells - self.swirl * self.offset * (orientation - self.offset_angle).sin()
    }

    /// What the cross flow adds to the indicated axial velocity, in area mean velocities.
    ///
    /// Along a ray that makes the angle `theta` with the normal of the wall, the sound is carried
    /// by `w sin(theta) + v cos(theta)`, with the axial component `w` and the component `v` along
    /// the diameter. The next traverse runs along the diameter the other way, so with equal flow on
    /// all traverses
    ///
    /// ```text
    /// indicated - w = v cot(theta) / N   for odd N (direct path)
    ///               = 0                  for even N (reflected path)
    /// ```
    /// `orientation` is the angle at which the ray with the flow arrives after its first traverse,
    /// so turning by 180 degrees changes the sign. The cancellation is exact only where the cross
    /// flow does not change between traverses.
    pub fn effect(&self, orientation: S, traverses: u32, angle_in_liquid: S) -> S {
        if traverses.is_multiple_of(2) {
            return S::constant(0.0);
        }
        self.path_mean(orientation) / angle_in_liquid.tan() / f64::from(traverses)
    }
}

/// Rate at which swirl decays, for each inside diameter: `v_wall ~ exp(-rate L)`.
///
/// # Source
/// W. Steenbergen and J. Voskamp, Flow Meas. Instrum. 9 (1998) 67: 1.49 times Darcy's friction
/// factor for weak swirl (from memory). At Re = 1e5 swirl is halved in 26 D, so it outlasts the
/// asymmetry by far.
pub fn swirl_decay_rate<S: Scalar>(friction_factor: S) -> S {
    friction_factor * 1.49
}

/// The cross flow downstream of a fitting; `straight_run` in inside diameters.
///
/// The centre of a swirl is put at angle zero, for want of knowledge. NaN outside the range of
/// [`check_straight_run`](super::check_straight_run).
pub fn cross_flow<S: Scalar>(fitting: Fitting, straight_run: S) -> CrossFlow<S> {
    let c = coefficients(fitting);
    let swirl_decay = 1.0 / swirl_decay_rate(FRICTION_FACTOR);
    CrossFlow {
        cells: remaining(straight_run, CELLS_DECAY) * c.cells,
        swirl: remaining(straight_run, swirl_decay) * c.swirl,
        offset: remaining(straight_run, OFFSET_DECAY) * OFFSET,
        offset_angle: S::constant(0.0),
    }
}

/// Largest effect of the cross flow on a path whose sense is not known.
///
/// The cells lie as the bend does; the centre of a swirl may lie anywhere. `on_cells` is the
/// magnitude of the cosine of the orientation, as far as it is known.
pub(super) fn largest_effect(
    fitting: Fitting,
    straight_run: f64,
    on_cells: f64,
    traverses: u32,
    angle_in_liquid: f64,
) -> f64 {
    let flow = cross_flow(fitting, straight_run.max(STRAIGHT_RUNS[0]));
    let cells = CrossFlow { swirl: 0.0, ..flow };
    let swirl = CrossFlow { cells: 0.0, ..flow };
    let most = |f: CrossFlow<f64>, at: f64| f.effect(at, traverses, angle_in_liquid).abs();
    most(cells, 0.0) * on_cells + most(swirl, std::f64::consts::FRAC_PI_2)
}
