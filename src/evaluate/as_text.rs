//! An evaluation as text, to be computed anew elsewhere.

use super::{Evaluation, GivenReadings};
use crate::error::{Error, Result};
use crate::site::Site;
use serde::{Deserialize, Serialize};

/// What an evaluation follows from.
#[derive(Serialize, Deserialize)]
struct Passed {
    file: String,
    site: String,
    readings: GivenReadings,
    reconciled: bool,
}

impl Evaluation {
    /// The site and the readings as text, from which [`Evaluation::from_text`] makes the same
    /// evaluation. For passing it on between processes; to keep a result, make a
    /// [record](crate::record::Record).
    ///
    /// # Errors
    /// None that can occur; the format asks for it.
    pub fn to_text(&self) -> Result<String> {
        let passed = Passed {
            file: self.site.file_name(),
            site: self.site.text().to_owned(),
            readings: self.given.as_ref().clone(),
            reconciled: self.agreement.is_some(),
        };
        serde_json::to_string(&passed).map_err(|e| not_an_evaluation(&e))
    }

    /// The evaluation from the text of [`Evaluation::to_text`].
    ///
    /// # Errors
    /// Text that is no evaluation, and those of [`Site::evaluate`].
    pub fn from_text(text: &str) -> Result<Evaluation> {
        let passed: Passed = serde_json::from_str(text).map_err(|e| not_an_evaluation(&e))?;
        let site = Site::from_toml(&passed.site, &passed.file)?;
        let evaluation = site.evaluate(&passed.readings.read()?)?;
        if passed.reconciled {
            return Ok(evaluation.reconciled()?.after);
        }
        Ok(evaluation)
    }
}

fn not_an_evaluation(error: &serde_json::Error) -> Error {
    Error::Syntax {
        format: "evaluation",
        reason: error.to_string(),
    }
}
