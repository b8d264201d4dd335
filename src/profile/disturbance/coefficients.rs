//! The coefficients of each fitting at one diameter, and the lengths over which they decay.

use super::Fitting;

/// What the family of a fitting consists of. Lengths are in inside diameters.
#[derive(Debug, Clone, Copy)]
pub(super) struct Coefficients {
    /// Coefficients of the axial profile one diameter downstream of the fitting.
    pub flattening: f64,
    pub skew: f64,
    pub lobes: f64,
    /// Length over which flattening and lobes fall to 1/e; the skew takes twice as long.
    pub decay: f64,
    /// Whether it is known how the pattern lies to the fitting. Where not, the factor is that of
    /// the mean orientation and the lobes are part of the uncertainty.
    pub orientation_known: bool,
    /// Velocity on the axis of two counter-rotating cells, one diameter downstream of the fitting.
    pub cells: f64,
    /// Tangential velocity of the swirl at the wall, one diameter downstream of the fitting.
    pub swirl: f64,
    /// Half-width of the uncertainty one diameter downstream of the fitting, and its decay.
    pub uncertainty: f64,
    pub uncertainty_decay: f64,
}

/// The coefficients of a fitting.
///
/// # Source
/// One bend: chosen so that the factor of the worst orientation is 1.108 at the near end of the
/// family and at most 1.02 from 8 D on, above one everywhere (P. Synowiec et al., Sensors 21
/// (2021) 868, abstract: up to 10.8 % nearer than 8 D, at most 1.02 from there on). The distance
/// at which 10.8 % was found has not been seen. The cells and the length over which the half-width falls
/// are such that the readings of an in-line meter downstream of one bend lie inside (see
/// [`cross_flow`](super::cross_flow)), and that it is still wide where the same paper and another find
/// that the flow recovers, at 10 to 40 D. The factor across the plane of the bend, 1.035, is
/// that of the displacement by two cells which gives 1.108 in its plane (see
/// [`DisturbedProfile`](super::DisturbedProfile)). The skew agrees with a recovery within 10 to 30 D
/// (Appl. Sci. 14 (2024) 7895, abstract, sharp elbow at Re = 1e4).
///
/// All others: our judgement, from memory of the shapes. A contraction evens out the profile, which
/// then grows back over tens of diameters; downstream of an expansion there is a jet. Swirl angles of 15 to
/// 20 degrees downstream of two bends out of plane (from memory). The half-widths are never below the
/// effect itself, so that no correction is significant of which no measurement has been seen.
///
/// Where to look: factors measured downstream of a knife gate valve closed by 1/3 and 1/2, from 3 to 15 D,
/// P. Piechota et al., Sensors 23 (2023) 4677; computed downstream of single and double bends, A.
/// Weissenbrunner et al., Metrologia 60 (2023) 054002 (of both only the abstract has been seen, which
/// has no figures).
pub(super) const fn coefficients(fitting: Fitting) -> Coefficients {
    match fitting {
        Fitting::SingleBend => Coefficients {
            flattening: 0.70,
            skew: 0.5,
            lobes: -0.107,
            decay: 3.6,
            orientation_known: true,
            cells: 0.12,
            swirl: 0.0,
            uncertainty: 0.08,
            uncertainty_decay: 8.0,
        },
        Fitting::TwoBendsInPlane => Coefficients {
            flattening: 0.70,
            skew: 0.5,
            lobes: -0.11,
            decay: 4.2,
            orientation_known: true,
            cells: 0.12,
            swirl: 0.0,
            uncertainty: 0.11,
            uncertainty_decay: 9.0,
        },
        Fitting::TwoBendsOutOfPlane => Coefficients {
            flattening: 0.65,
            skew: 0.4,
            lobes: -0.12,
            decay: 6.0,
            orientation_known: false,
            cells: 0.05,
            swirl: 0.32,
            uncertainty: 0.10,
            uncertainty_decay: 15.0,
        },
        Fitting::Reducer => Coefficients {
            flattening: 0.30,
            skew: 0.1,
            lobes: 0.0,
            decay: 10.0,
            orientation_known: true,
            cells: 0.0,
            swirl: 0.0,
            uncertainty: 0.05,
            uncertainty_decay: 10.0,
        },
        Fitting::Enlargement => Coefficients {
            flattening: -0.70,
            skew: 0.3,
            lobes: 0.0,
            decay: 5.0,
            orientation_known: true,
            cells: 0.03,
            swirl: 0.0,
            uncertainty: 0.13,
            uncertainty_decay: 7.0,
        },
        Fitting::PartlyOpenValve => Coefficients {
            flattening: 0.40,
            skew: 0.6,
            lobes: -0.10,
            decay: 6.0,
            orientation_known: false,
            cells: 0.10,
            swirl: 0.0,
            uncertainty: 0.14,
            uncertainty_decay: 10.0,
        },
        Fitting::Pump => Coefficients {
            flattening: 0.30,
            skew: 0.4,
            lobes: -0.08,
            decay: 8.0,
            orientation_known: false,
            cells: 0.05,
            swirl: 0.27,
            uncertainty: 0.10,
            uncertainty_decay: 14.0,
        },
    }
}
