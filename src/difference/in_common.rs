//! What two measurements have in common, and so which inputs have one deviation in both.

use crate::error::{Error, Result};
use crate::model::{Belonging, Quantity};
use serde::Serialize;

/// What was the same in two measurements of flow.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
#[non_exhaustive]
pub enum Same {
    /// Pipe, meter and mounting: the sensors have not been off, as in two periods of one log.
    Mounting,
    /// Pipe and meter: the sensors were mounted anew.
    MeterAndPipe,
    /// The pipe, with what flows in it: two meters on one pipe.
    Pipe,
    /// The meter with its sensors, on two pipes.
    Meter,
    /// Nothing.
    Nothing,
}

impl Same {
    /// The names by which to choose.
    pub const NAMES: &'static [&'static str] =
        &["mounting", "meter_and_pipe", "pipe", "meter", "nothing"];

    /// The choice of a name.
    ///
    /// # Errors
    /// A name that is not in [`Self::NAMES`].
    pub fn from_name(name: &str) -> Result<Same> {
        let all = [
            Same::Mounting,
            Same::MeterAndPipe,
            Same::Pipe,
            Same::Meter,
            Same::Nothing,
        ];
        let mut all = all.into_iter();
        let unknown = || Error::unknown_name("same", name, Self::NAMES);
        all.find(|same| same.name() == name).ok_or_else(unknown)
    }

    /// The name of the choice.
    pub fn name(self) -> &'static str {
        match self {
            Same::Mounting => "mounting",
            Same::MeterAndPipe => "meter_and_pipe",
            Same::Pipe => "pipe",
            Same::Meter => "meter",
            Same::Nothing => "nothing",
        }
    }

    /// In words.
    pub fn in_words(self) -> &'static str {
        match self {
            Same::Mounting => "the same pipe, meter and mounting",
            Same::MeterAndPipe => "the same pipe and meter, mounted anew",
            Same::Pipe => "the same pipe, two meters",
            Same::Meter => "the same meter, two pipes",
            Same::Nothing => "nothing in common",
        }
    }

    /// Whether a stated input of a quantity has one deviation in both measurements. What a gauge or a
    /// thermometer adds stays when the sensors are mounted anew: the instrument is the same.
    pub(super) fn holds(self, quantity: Quantity, of_instrument: bool) -> bool {
        let same_pipe = matches!(self, Same::Mounting | Same::MeterAndPipe | Same::Pipe);
        match quantity.belongs_to() {
            Belonging::Meter => matches!(self, Same::Mounting | Same::MeterAndPipe | Same::Meter),
            Belonging::Mounting => self == Same::Mounting || (of_instrument && same_pipe),
            Belonging::Pipe | Belonging::Profile | Belonging::Measurement => same_pipe,
        }
    }
}

/// What two measurements have in common, with exceptions by the names of inputs.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct InCommon {
    /// What was the same.
    pub same: Same,
    /// Inputs that are common besides: one thermometer for two pipes.
    pub also: Vec<String>,
    /// Inputs that are not: a wall that was measured anew.
    pub but: Vec<String>,
}

impl From<Same> for InCommon {
    fn from(same: Same) -> InCommon {
        InCommon {
            same,
            also: Vec::new(),
            but: Vec::new(),
        }
    }
}
