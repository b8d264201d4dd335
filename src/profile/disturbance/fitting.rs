//! The fittings that disturb a profile, by name.

use crate::error::{Error, Result};
use serde::{Deserialize, Serialize};

/// The fitting nearest upstream of a path.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[non_exhaustive]
pub enum Fitting {
    /// One bend of 90 degrees.
    SingleBend,
    /// Two bends of 90 degrees close to each other, in one plane.
    TwoBendsInPlane,
    /// Two bends of 90 degrees close to each other, in planes at right angles.
    TwoBendsOutOfPlane,
    /// A contraction to the diameter of the path.
    Reducer,
    /// An expansion to the diameter of the path.
    Enlargement,
    /// A valve that is neither open nor shut.
    PartlyOpenValve,
    /// A centrifugal pump.
    Pump,
}

impl Fitting {
    /// All fittings.
    pub const ALL: [Fitting; 7] = [
        Fitting::SingleBend,
        Fitting::TwoBendsInPlane,
        Fitting::TwoBendsOutOfPlane,
        Fitting::Reducer,
        Fitting::Enlargement,
        Fitting::PartlyOpenValve,
        Fitting::Pump,
    ];

    /// The name under which the fitting is chosen.
    pub fn name(self) -> &'static str {
        match self {
            Fitting::SingleBend => "single_bend",
            Fitting::TwoBendsInPlane => "two_bends_in_plane",
            Fitting::TwoBendsOutOfPlane => "two_bends_out_of_plane",
            Fitting::Reducer => "reducer",
            Fitting::Enlargement => "enlargement",
            Fitting::PartlyOpenValve => "partly_open_valve",
            Fitting::Pump => "pump",
        }
    }

    /// The fitting in words.
    pub fn in_words(self) -> &'static str {
        match self {
            Fitting::SingleBend => "one 90 degree bend",
            Fitting::TwoBendsInPlane => "two 90 degree bends in one plane",
            Fitting::TwoBendsOutOfPlane => "two 90 degree bends out of plane",
            Fitting::Reducer => "reducer",
            Fitting::Enlargement => "enlargement",
            Fitting::PartlyOpenValve => "partly open valve",
            Fitting::Pump => "pump",
        }
    }

    /// Where its family comes from, in words.
    pub fn source(self) -> &'static str {
        match self {
            Fitting::SingleBend => "analytic profile scaled to Sensors 21 (2021) 868",
            _ => "analytic profile, coefficients by judgement",
        }
    }

    /// The fitting of that name.
    ///
    /// # Errors
    /// A name that no fitting has; the error names `field` and the nearest name.
    pub fn from_name(name: &str, field: &str) -> Result<Fitting> {
        let found = Fitting::ALL.into_iter().find(|f| f.name() == name);
        found.ok_or_else(|| Error::unknown_name(field, name, &Fitting::ALL.map(Fitting::name)))
    }
}
