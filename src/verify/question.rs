//! What a verification asks, and so which uncertainties belong to its answer.

use crate::model::{Basis, Choices, Origin, Quantity};
use crate::uncertainty::{Input, plain};
use crate::units::Unit;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// The question that a verification answers. Each has an uncertainty of its own.
///
/// # Source
/// JCGM 200:2012 (VIM), 4.1 (indication) and 2.16 (measurement error); JCGM 106:2012 for what is
/// judged by it; ISO/IEC 17043 for the agreement of results (from memory).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[non_exhaustive]
pub enum Question {
    /// The error of indication on this pipe, mounted as it is: indicated less reference value. What
    /// the meter computed with is part of it, right or wrong, and has no uncertainty here; that of
    /// the error is of the reference, the transfer of its value to the meter, of resolution and
    /// repeatability.
    #[serde(rename = "error as installed")]
    ErrorAsInstalled,
    /// The error that belongs to meter and sensors and goes with them to other pipes. Bore, wall,
    /// liquid, profile and mounting of the test pipe are in the readings but not in the meter, so
    /// that their uncertainty is in that of the error.
    #[serde(rename = "error of the meter")]
    ErrorOfTheMeter,
    /// Whether two results for the same flow agree, each with its whole budget.
    #[serde(rename = "agreement")]
    Agreement,
}

impl Question {
    /// All of them.
    pub const ALL: [Question; 3] = [
        Question::ErrorAsInstalled,
        Question::ErrorOfTheMeter,
        Question::Agreement,
    ];

    /// The question as the file has it.
    pub fn in_words(self) -> &'static str {
        match self {
            Question::ErrorAsInstalled => "error as installed",
            Question::ErrorOfTheMeter => "error of the meter",
            Question::Agreement => "agreement",
        }
    }

    /// What the uncertainties of the answer contain, in words.
    pub fn contains(self) -> &'static str {
        match self {
            Question::ErrorAsInstalled => {
                "the reference, the transfer of its value to the meter, resolution and \
                 repeatability; valid on this pipe, mounted as it was"
            }
            Question::ErrorOfTheMeter => {
                "the reference, the transfer of its value to the meter, resolution and \
                 repeatability, and bore, wall, liquid, profile and mounting of the test pipe; valid \
                 for meter and sensors elsewhere"
            }
            Question::Agreement => "the whole budgets of both results with their covariance",
        }
    }

    /// Whether the value of a quantity of the site is taken as it is on the side of the meter.
    ///
    /// Zero and couplant belong to the mounting: both are another once the sensors were off.
    pub(super) fn fixes(self, quantity: Quantity) -> bool {
        match self {
            Question::Agreement => false,
            Question::ErrorOfTheMeter => quantity.row().of_meter,
            Question::ErrorAsInstalled => {
                quantity.row().origin != Origin::Readings && !reads_the_meter(quantity)
            }
        }
    }
}

/// Whether a quantity belongs to what the output of the meter is read with, which is no part of it.
fn reads_the_meter(quantity: Quantity) -> bool {
    matches!(quantity, Quantity::CurrentInput | Quantity::CounterClock)
}

/// Whether a quantity of the site enters the flow at the meter by the reference.
pub(super) fn enters_reference(quantity: Quantity) -> bool {
    use Quantity as Q;
    matches!(
        quantity,
        Q::Temperature | Q::Pressure | Q::Salinity | Q::MassFraction | Q::DensityFactor
    )
}

/// What is compared with the reference value.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub enum Indicated {
    /// The flow that the meter showed, with whatever was programmed into it.
    #[serde(rename = "shown by the meter")]
    Shown,
    /// The flow that is computed here from what was read of the meter.
    #[serde(rename = "computed from its readings")]
    Computed,
}

impl Indicated {
    /// As the file has it.
    pub fn in_words(self) -> &'static str {
        match self {
            Indicated::Shown => "shown by the meter",
            Indicated::Computed => "computed from its readings",
        }
    }
}

/// A value on the side of the meter that the error contains, right or wrong.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct FixedValue {
    /// Its name: that of an input, or the key of a programmed value.
    pub name: String,
    /// The value, in SI units.
    pub value: f64,
    /// The unit in which it is shown.
    pub unit: Unit,
}

impl FixedValue {
    pub(super) fn of(input: &Input) -> FixedValue {
        FixedValue {
            name: input.name().to_owned(),
            value: input.estimate(),
            unit: input.unit().clone(),
        }
    }

    /// The value with its unit.
    pub fn value_in_words(&self) -> String {
        let value = plain(self.unit.from_si(self.value));
        match &*self.unit.symbol {
            "1" => value,
            symbol => format!("{value} {symbol}"),
        }
    }
}

/// The values programmed into a meter that shows the flow.
pub(super) fn programmed(choices: &Choices) -> Vec<FixedValue> {
    let shows = choices.basis == Basis::Indicated;
    let programmed = choices.programmed.filter(|_| shows);
    let listed = programmed.iter().flat_map(|p| p.listed());
    listed
        .map(|(key, value, unit)| FixedValue {
            name: format!("meter.programmed.{key}"),
            value,
            unit,
        })
        .collect()
}
