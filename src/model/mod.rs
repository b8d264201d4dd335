//! The measurement model of a site: quantities, the bore, the sound path, the flow, and what none of
//! them can be.
//!
//! [`SiteModel::steps`] is the model, generic over the number type. What it is told is a list of
//! inputs, each a term of a [`Quantity`], and the [`Choices`] of the site; where they come from, it
//! does not know.

mod belonging;
mod bore;
mod calibration;
mod checks;
mod choices;
mod component;
mod equations;
mod factor_curve;
mod intermediate;
mod layers;
mod layout;
mod liquid;
mod needs;
mod programmed;
mod quantity;
mod reading;
mod row;
mod steps;
mod terms;

pub(crate) use belonging::Belonging;
pub(crate) use checks::{JUDGED, Judged};
pub use choices::{
    AngleFrom, Basis, Choices, DiameterFrom, FurtherLayer, LiquidModel, OutsideLayer, Principle,
    Programmed,
};
pub use component::Component;
pub(crate) use equations::words_of;
pub use factor_curve::{Beyond, FactorCurve, Over};
pub use intermediate::{Intermediates, Named, Uncalibrated};
pub use layout::{CrossedLayer, PathLayout};
pub(crate) use needs::Stating;
pub use quantity::Quantity;
pub(crate) use reading::Reading;
pub use row::Covered;
pub(crate) use row::{Origin, Renewed};
pub use steps::SiteModel;
