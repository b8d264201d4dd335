//! Inputs as text, to be used elsewhere.

use super::{Input, InputSet};
use crate::error::{Error, Result};
use serde::Serialize;
use serde::de::DeserializeOwned;

fn not_inputs(error: &dyn ToString) -> Error {
    Error::Syntax {
        format: "input",
        reason: error.to_string(),
    }
}

// TOML has infinite numbers, which JSON has not
fn text_of(value: &impl Serialize) -> Result<String> {
    toml::to_string(value).map_err(|e| not_inputs(&e))
}

fn of_text<T: DeserializeOwned>(text: &str) -> Result<T> {
    toml::from_str(text).map_err(|e| not_inputs(&e))
}

impl Input {
    /// The input as text, from which [`Input::from_text`] makes the same one: for passing it on
    /// between processes.
    ///
    /// # Errors
    /// None that can occur; the format asks for it.
    pub fn to_text(&self) -> Result<String> {
        text_of(self)
    }

    /// The input from the text of [`Input::to_text`].
    ///
    /// # Errors
    /// Text that is no input.
    pub fn from_text(text: &str) -> Result<Input> {
        let input: Input = of_text(text)?;
        input.distribution().clone().check(input.name())?;
        Ok(input)
    }
}

impl InputSet {
    /// The set as text, from which [`InputSet::from_text`] makes the same one: for passing it on
    /// between processes.
    ///
    /// # Errors
    /// None that can occur; the format asks for it.
    pub fn to_text(&self) -> Result<String> {
        text_of(self)
    }

    /// The set from the text of [`InputSet::to_text`].
    ///
    /// # Errors
    /// Text that is no set of inputs.
    pub fn from_text(text: &str) -> Result<InputSet> {
        let set: InputSet = of_text(text)?;
        let n = set.inputs.len();
        let within = set.joint_t.iter().all(|t| t.members.iter().all(|m| *m < n));
        if set.correlations.len() != n || !within {
            return Err(not_inputs(&"correlations of another number of inputs"));
        }
        for input in &set.inputs {
            input.distribution().clone().check(input.name())?;
        }
        Ok(set)
    }
}
