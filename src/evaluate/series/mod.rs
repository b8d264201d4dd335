//! A log of readings to flow row by row and to a total volume, each with its uncertainty.

mod blocks;
mod evaluate;
mod faults;
mod integration;
mod log;
mod model_of_rows;
mod periods;
mod pulses_and_counters;
mod quantile;
mod rejected_rows;
mod rows;
mod scatter;
mod series_text;
mod skipped_periods;
mod sums;
mod time_zone;
mod total;
mod totals_of_parts;
mod warnings;

pub use faults::Faults;
pub(super) use faults::{frozen, spikes};
pub use log::{Log, Selection, Signal};
pub use periods::{Period, PeriodTotal};
pub(super) use quantile::quantile;
pub use time_zone::Clock;

use super::{Channel, Times, Warning};
use crate::error::{Error, Result};
use crate::site::Site;
use crate::table::TableFormat;
use crate::uncertainty::{Budget, Damping, Expanded};
use serde::Serialize;

/// How the flow between two rows is taken to go.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Rule {
    /// On a straight line from row to row (trapezoidal rule): for readings of a moment.
    #[default]
    Trapezoid,
    /// A row holds until the next one; the last of a stretch for the usual step: for readings that
    /// are means of the time that follows them.
    Hold,
    /// A row stands for the time since the one before; the first of a stretch for the usual step: for
    /// readings that are means of the time before them. Counts are taken so whatever the rule.
    Since,
}

/// What becomes of the time within a gap.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Gaps {
    /// It is not in the total.
    #[default]
    LeaveOut,
    /// The flow before the gap is taken to last through it.
    Hold,
    /// The flow is taken to go on a straight line through it.
    Interpolate,
}

macro_rules! named {
    ($type:ident, $field:literal, $($name:literal => $variant:ident),*) => {
        impl $type {
            /// The names by which to choose.
            pub const NAMES: &'static [&'static str] = &[$($name),*];

            /// The choice of a name.
            ///
            /// # Errors
            /// A name that is not in [`Self::NAMES`].
            pub fn from_name(name: &str) -> Result<Self> {
                match name {
                    $($name => Ok($type::$variant),)*
                    _ => Err(Error::unknown_name($field, name, Self::NAMES)),
                }
            }

            /// The name of the choice.
            pub fn name(self) -> &'static str {
                match self {
                    $($type::$variant => $name,)*
                }
            }
        }
    };
}
named!(Rule, "rule", "trapezoid" => Trapezoid, "hold" => Hold, "since" => Since);
named!(Gaps, "gaps", "leave_out" => LeaveOut, "hold" => Hold, "interpolate" => Interpolate);

/// The standard deviation of single readings under the same conditions.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Repeatability {
    /// In SI units; 0 where the scatter is not to count.
    pub standard_deviation: f64,
    /// Its degrees of freedom.
    pub dof: f64,
    /// Rows that count as one independent row in a total, 1 or more: by what the variance of a sum
    /// of many rows exceeds that of independent ones.
    pub rows_for_one: f64,
    /// Whether the scatter could be told from the course of the flow.
    pub told: bool,
}

impl Repeatability {
    /// A scatter that is known, in SI units, of readings that are independent of each other.
    pub const fn independent(standard_deviation: f64, dof: f64) -> Repeatability {
        Repeatability {
            standard_deviation,
            dof,
            rows_for_one: 1.0,
            told: true,
        }
    }
}

/// How a series is evaluated.
#[derive(Debug, Clone, PartialEq)]
pub struct SeriesOptions {
    /// How the flow between two rows is taken to go.
    pub rule: Rule,
    /// What becomes of the time within a gap.
    pub gaps: Gaps,
    /// A step longer than this many usual steps (their median) is a gap; above 1. A row that is
    /// missing is a gap by default.
    pub gap_factor: f64,
    /// The scatter of single readings, where it is known. That of other channels is estimated from
    /// second differences of rows and of means of rows that follow each other.
    pub repeatability: Vec<(Channel, Repeatability)>,
    /// How the meter damps its readings, where it is known: a lower bound of how long scatter lasts.
    pub damping: Option<Damping>,
    /// Which rows are faults.
    pub faults: Faults,
    /// Whether forward and reverse flow have totals of their own beside the net one.
    pub separate: bool,
    /// The low-flow cut-off of the meter as a volume flow in m3/s: smaller flows, of either sign,
    /// count as none, and as unknown within it.
    pub low_flow_cut_off: Option<f64>,
    /// The calendar periods of which totals are wanted as well.
    pub period: Option<Period>,
}

impl Default for SeriesOptions {
    fn default() -> Self {
        SeriesOptions {
            rule: Rule::default(),
            gaps: Gaps::default(),
            gap_factor: 1.5,
            repeatability: Vec::new(),
            damping: None,
            faults: Faults::default(),
            separate: false,
            low_flow_cut_off: None,
            period: None,
        }
    }
}

/// Why a row was not used.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub enum Reason {
    /// Its time is missing or cannot be read.
    NoTime,
    /// A reading of this channel is missing or not a finite number.
    NotANumber(Channel),
    /// It has the time of a row that is used.
    Duplicate,
    /// Its time does not fit between those of the rows that are used.
    OutOfOrder,
    /// Its status is none of those that were asked for: the status.
    Status(String),
    /// Its signal is missing or below the least that was asked for.
    Signal,
    /// A reading is a code of the logger for an error: the code, as it was written.
    ErrorCode(Channel, f64),
    /// A reading is beyond what any meter reads.
    Inconceivable(Channel),
    /// A reading stands out of those in the rows about it.
    Spike(Channel),
    /// A current outside of 3.6 to 21 mA, with which an output tells a fault: the current in A.
    CurrentFault(f64),
    /// With this reading a counter begins: no row before it tells what it counted.
    CounterStart,
    /// A counter went back without running through its end: it was reset.
    CounterReset,
    /// The time difference is off by so many whole periods of the carrier.
    SkippedPeriod(i32),
    /// The liquid would flow faster than liquids do in pipes: mean velocity in m/s.
    Velocity(f64),
    /// Sound would be faster or slower in the liquid than it can be: by this share.
    SoundSpeed(f64),
    /// No measurement can have led to it.
    OutsideModel(Error),
}

impl Reason {
    /// A name that never changes.
    pub fn code(&self) -> &'static str {
        match self {
            Reason::NoTime => "no-time",
            Reason::NotANumber(_) => "not-a-number",
            Reason::Duplicate => "duplicate",
            Reason::OutOfOrder => "out-of-order",
            Reason::Status(_) => "status",
            Reason::Signal => "signal",
            Reason::ErrorCode(..) => "error-code",
            Reason::Inconceivable(_) => "inconceivable",
            Reason::Spike(_) => "spike",
            Reason::CurrentFault(_) => "current-fault",
            Reason::CounterStart => "counter-start",
            Reason::CounterReset => "counter-reset",
            Reason::SkippedPeriod(_) => "skipped-period",
            Reason::Velocity(_) => "velocity",
            Reason::SoundSpeed(_) => "sound-speed",
            Reason::OutsideModel(_) => "outside-model",
        }
    }
}

/// A row that was not used.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct Rejected {
    /// The row, counted from 0.
    pub row: usize,
    /// Its time in seconds after the first; NaN where it is not known.
    pub seconds: f64,
    /// Why it was not used.
    pub reason: Reason,
}

/// A step between rows that is too long to go without saying.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct Gap {
    /// The last row before it.
    pub from_row: usize,
    /// The first row after it.
    pub to_row: usize,
    /// Time of the row before, in seconds after the first.
    pub from_s: f64,
    /// Time of the row after, in seconds after the first.
    pub to_s: f64,
    /// The volume in m3 by which the gap was filled; 0 where it was left out.
    pub filled_volume: f64,
}

impl Gap {
    /// Its length, in s.
    pub fn duration(&self) -> f64 {
        self.to_s - self.from_s
    }
}

/// How many rows were used, and how many not and why.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize)]
#[non_exhaustive]
pub struct Counts {
    /// Rows of the log.
    pub rows: usize,
    /// Rows that were used.
    pub used: usize,
    /// Rows without a time.
    pub no_time: usize,
    /// Rows with a reading missing.
    pub not_a_number: usize,
    /// Rows with the time of another one.
    pub duplicate: usize,
    /// Rows whose time does not fit between others.
    pub out_of_order: usize,
    /// Rows whose status was not asked for.
    pub status: usize,
    /// Rows whose signal is below the least that was asked for.
    pub signal: usize,
    /// Rows with a code of the logger for an error.
    pub error_code: usize,
    /// Rows with a reading beyond any meter.
    pub inconceivable: usize,
    /// Rows with a reading that stands out of those about it.
    pub spike: usize,
    /// Rows with a current that tells a fault.
    pub current_fault: usize,
    /// Rows with which a counter begins.
    pub counter_start: usize,
    /// Rows in which a counter had been reset.
    pub counter_reset: usize,
    /// Rows whose time difference is off by whole periods of the carrier.
    pub skipped_period: usize,
    /// Rows of a velocity beyond the limit.
    pub velocity: usize,
    /// Rows that imply a sound speed beyond the limits.
    pub sound_speed: usize,
    /// Rows to which no measurement can have led.
    pub outside_model: usize,
    /// How often time went back from one row to the next.
    pub resets: usize,
    /// Gaps between rows that were used.
    pub gaps: usize,
    /// Rows of flow below the low-flow cut-off.
    pub below_cut_off: usize,
    /// Rows of laminar flow.
    pub laminar: usize,
    /// Rows between laminar and turbulent flow.
    pub transition: usize,
}

/// A series: flow with its uncertainty in every row, and the total volume with its budget.
///
/// Columns have the shape `(rows,)` of the log; a row that was not used is NaN in them.
#[derive(Debug, Clone)]
pub struct Series {
    /// The site.
    pub site: Site,
    /// How it was evaluated.
    pub options: SeriesOptions,
    /// Time in seconds after the first that is known; NaN where it is not.
    pub seconds: Vec<f64>,
    /// Volume flow, in m3/s.
    pub flow: Vec<f64>,
    /// Standard uncertainty of the flow of the row, in m3/s.
    pub standard_uncertainty: Vec<f64>,
    /// The part of it that is the row's own, in m3/s: the scatter of single readings. The rest is the
    /// same deviation in all rows.
    pub random_uncertainty: Vec<f64>,
    /// Reynolds number.
    pub reynolds: Vec<f64>,
    /// The budget of the total volume.
    pub total: Budget,
    /// The budgets of the volumes that flowed forward and back, the latter negative, where they
    /// were asked for. The total is their sum.
    pub directions: Option<[Budget; 2]>,
    /// The time in s that the total covers.
    pub duration: f64,
    /// The usual step between rows, in s.
    pub usual_step: f64,
    /// Rows that were not used, in order.
    pub rejected: Vec<Rejected>,
    /// Gaps, in order.
    pub gaps: Vec<Gap>,
    /// How many rows were used, and how many not and why.
    pub counts: Counts,
    /// The totals of the calendar periods that were asked for, in order.
    pub periods: Vec<PeriodTotal>,
    /// How the log was read from a file.
    pub(super) format: TableFormat,
    /// The channels that were read.
    pub(super) readings: Vec<Channel>,
    /// The strength or quality of the signal, where the log has it.
    pub signal: Option<Signal>,
    /// The time zone of the clock and what became of its times, where it was named.
    pub clock: Option<Clock>,
    /// What a reader must be told beside the uncertainty.
    pub warnings: Vec<Warning>,
}

impl Series {
    /// The expanded uncertainty of the total at the site's coverage probability, in m3.
    ///
    /// # Errors
    /// None for a site that was read from a file, whose coverage probability has been checked.
    pub fn expanded(&self) -> Result<Expanded> {
        self.total.expanded(self.site.coverage_probability)
    }

    /// The total volume over the time that it covers, in m3/s; NaN where that is none.
    pub fn mean_flow(&self) -> f64 {
        self.total.estimate / self.duration
    }

    /// Whether a line of the budget is the scatter of readings.
    pub(crate) fn scatters(&self, input: &str) -> bool {
        let mut readings = self.readings.iter();
        input == pulses_and_counters::LINE
            || readings.any(|channel| channel.quantity().path() == input)
    }

    /// The volume in m3 by which gaps were filled; the total contains it.
    pub fn filled_volume(&self) -> f64 {
        self.gaps.iter().map(|gap| gap.filled_volume).sum()
    }

    /// The time within gaps, in s.
    pub fn gap_duration(&self) -> f64 {
        self.gaps.iter().map(Gap::duration).sum()
    }
}
