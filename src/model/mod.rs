//! The measurement model of a site: quantities, the bore, the sound path, the flow, and what none of
//! them can be.
//!
//! [`SiteModel::steps`] is the model, generic over the number type. What it is told is a list of
//! inputs, each a term of a [`Quantity`], and the [`Choices`] of the site; where they come from, it
//! does not know.

mod bore;
mod calibration;
mod checks;
mod choices;
mod component;
mod covered_by_calibration;
mod equations;
mod factor_curve;
mod intermediate;
mod layers;
mod liquid;
mod path_layout;
mod programmed;
mod quantity;
mod quantity_row;
mod reading;
mod required_quantities;
mod steps;
mod terms;

pub(crate) use checks::{JUDGED, Judged};
pub use choices::{
    AngleFrom, Basis, Choices, DiameterFrom, FurtherLayer, LiquidModel, OutsideLayer, Principle,
    Programmed,
};
pub use component::Component;
pub(crate) use covered_by_calibration::Belonging;
pub(crate) use equations::words_of;
pub use factor_curve::{Beyond, FactorCurve, Over};
pub use intermediate::{Intermediates, Named, Uncalibrated};
pub use path_layout::{CrossedLayer, PathLayout};
pub use quantity::Quantity;
pub use quantity_row::Covered;
pub(crate) use quantity_row::{Origin, Renewed};
pub(crate) use reading::Reading;
pub(crate) use required_quantities::Stating;
pub use steps::SiteModel;
