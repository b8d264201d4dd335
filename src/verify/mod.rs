//! Verification of a meter against a reference: weighing, a volumetric tank or a master meter.
//!
//! Both sides of all runs are one measurement model over the union of their inputs. What they share
//! (the bore, the calibration of the scale, the temperature of the liquid that enters both sides) is
//! one input, so correlations between the sides, the runs and the flow points follow from the law of
//! propagation and are stated nowhere.
//!
//! A verification answers one of three [questions](Question), and the uncertainty of its answer holds
//! what belongs to that question: the error as installed, the error of the meter for use elsewhere, or
//! the agreement of two results.
//!
//! ```text
//! e = Q_indicated / Q_reference - 1        meter factor = Q_reference / Q_indicated
//! Q_reference = (M / rho_m +- line pack) / (t - t_diverter)
//! ```
//! with the mass `M` collected by the reference and the density `rho_m` of the liquid at the meter.
//!
//! # Cautions
//! Weigh tanks and volumetric tanks are heavy and overflow, lines are hot or under pressure: local
//! codes and the permit of the site decide. A verification is no evidence for custody transfer
//! without review by licensed practice.

mod builder;
mod check;
mod compare;
mod curves;
mod decision;
mod file;
mod in_situ;
mod inputs_and_sides;
mod judgement;
mod model;
mod quantity;
mod question;
mod reading_files;
mod reference;
mod reference_curves;
mod required_quantities;
mod result;
mod scatter;
mod scatter_inputs;
mod scores;
mod verification;
mod verification_text;
mod weighing;

pub use file::{ReferenceKind, Rule, UncertaintyLimit};
pub use judgement::{Conformity, Verdict};
pub use model::{PointsModel, RunsModel};
pub use quantity::{ReferenceComponent, ReferenceQuantity};
pub use question::{FixedValue, Indicated, Question};
pub use reference::ReferenceSteps;
pub use result::{
    Decision, ErrorLine, NamedStep, OfQuantity, PointResult, RunResult, Scores, VerificationResult,
};
pub use scatter::{Repeatability, Reproducibility};
pub use scores::{e_n, zeta_score};
pub use verification::Verification;
pub use verification_text::VERIFICATION_CAUTIONS;
pub use weighing::{
    air_density, buoyancy_factor, check_air, check_bursts, check_densities, diverter_error,
};
