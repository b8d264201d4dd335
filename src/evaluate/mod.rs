//! From readings to a volume flow with its uncertainty budget: once, for a log, for many sites.

mod advice;
mod calibrated;
mod check;
mod counted;
mod csv_table;
mod evaluation;
mod given;
mod in_situ;
mod installation;
mod other_wave;
mod passing;
mod periods;
mod placement;
mod profile;
mod profile_inputs;
mod profile_warnings;
mod quantities;
mod ray;
mod readings;
mod reconcile;
mod series;
mod sites;
mod stress_test;
mod survey;
mod suspicious;
mod temperatures;
mod unusual;
mod validation;
mod warnings;
mod words;

pub use check::{Cause, InterchangedZero, ProgrammedCheck, SoundSpeedCheck, ZeroCheck};
pub use evaluation::Evaluation;
pub(crate) use evaluation::estimates_of;
pub use given::{GivenColumn, GivenReadings};
pub use placement::Placement;
pub use profile::FactorAt;
pub use readings::{Channel, Readings};
pub use reconcile::{Adjustment, Reconciliation};
pub use series::{
    Clock, Counts, Faults, Gap, Gaps, Log, Period, PeriodTotal, Reason, Rejected, Repeatability,
    Rule, Selection, Series, SeriesOptions, Signal, Times,
};
pub use sites::{
    SiteFiles, SiteOutcome, SiteRow, SiteTexts, evaluate_site, evaluate_sites,
    evaluate_sites_watched,
};
pub use stress_test::{Stress, StressTest, WrongStatement};
pub(crate) use survey::Survey;
pub use warnings::Warning;
pub use words::CAUTIONS;
