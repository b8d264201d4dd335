//! From readings to a volume flow with its uncertainty budget: once, for a log, for many sites.

mod as_text;
mod before_readings;
mod calibration_warnings;
mod channels_used;
mod check;
mod evaluation;
mod evaluation_text;
mod in_situ;
mod inputs_that_follow;
mod installation;
mod many_sites;
mod means_of_readings;
mod mounting_advice;
mod other_wave;
mod placement;
mod profile;
mod profile_inputs;
mod profile_warnings;
mod pulses_and_counters;
mod quantities;
mod ray_warnings;
mod readings;
mod readings_as_given;
mod reconcile;
mod series;
mod skipped_periods;
mod stress_test;
mod suspicious_readings;
mod temperature_warnings;
mod times;
mod unusual_values;
mod validation;
mod warnings;

pub use crate::table::Channel;
pub(crate) use before_readings::BeforeReadings;
pub use check::{Cause, InterchangedZero, ProgrammedCheck, SoundSpeedCheck, ZeroCheck};
pub use evaluation::Evaluation;
pub use evaluation_text::CAUTIONS;
pub(crate) use inputs_that_follow::estimates_of;
pub use many_sites::{
    SiteFiles, SiteOutcome, SiteRow, SiteTexts, evaluate_site, evaluate_sites,
    evaluate_sites_watched,
};
pub use placement::Placement;
pub use profile::FactorAt;
pub use readings::Readings;
pub use readings_as_given::{GivenColumn, GivenReadings, GivenTable};
pub use reconcile::{Adjustment, Reconciliation};
pub use series::{
    Clock, Counts, Faults, Gap, Gaps, Log, Period, PeriodTotal, Reason, Rejected, Repeatability,
    Rule, Selection, Series, SeriesOptions, Signal,
};
pub use stress_test::{Stress, StressTest, WrongStatement};
pub use times::Times;
pub use warnings::Warning;
