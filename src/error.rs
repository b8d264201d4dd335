//! What can go wrong, as one typed enum. Every variant says where, what was found and what is
//! allowed, so that the message alone is enough to mend the input.

mod cause;
mod context;
mod help;
mod kind;
mod quote;

pub use cause::Cause;
pub use context::Context;
pub(crate) use help::{file_name, nearest, of_serde};
pub use kind::ErrorKind;
pub(crate) use quote::{listed, shortened};

use crate::text::shown;
use std::path::{Path, PathBuf};

/// The crate's result type.
pub type Result<T> = std::result::Result<T, Error>;

/// Any error of the crate.
///
/// `field` is the path of the input as the user knows it, such as `pipe.wall`.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum Error {
    /// An error with the place in the file where it was found.
    #[error("{}:{line}: {source}", path(file))]
    InFile {
        /// The file as named by the user.
        file: PathBuf,
        /// Line, counted from 1.
        line: usize,
        /// What was wrong there.
        source: Box<Error>,
    },

    /// A file could not be read or written. The source is the system's [`std::io::Error`], where it is the
    /// system that refused.
    #[error("cannot {action} {}: {}", path(file), shortened(reason))]
    File {
        /// The file.
        file: PathBuf,
        /// `read` or `write`.
        action: &'static str,
        /// The operating system's answer, or why the file is not taken.
        reason: String,
        /// The operating system's answer.
        source: Option<Cause>,
    },

    /// A file that would be overwritten.
    #[error(
        "{} exists; allowed: another name, or overwriting by asking for it",
        path(file)
    )]
    Exists {
        /// The file.
        file: PathBuf,
    },

    /// A file that is too large to be read.
    #[error("{} has {bytes} bytes; allowed: {most} at most", path(file))]
    TooLarge {
        /// The file.
        file: PathBuf,
        /// Its size in bytes, or as far as it was read.
        bytes: u64,
        /// The largest size allowed.
        most: u64,
    },

    /// A record of a version that cannot be read.
    #[error("record of version {found}: {reason}; allowed: {allowed}")]
    RecordVersion {
        /// The version found.
        found: u64,
        /// Why it cannot be read.
        reason: &'static str,
        /// The versions that can be read.
        allowed: String,
    },

    /// A record whose results another measurement model gave, so that they cannot come out again.
    #[error(
        "the record has the measurement model \"{}\", and this software has \"{current}\": the \
         record is read, but its results are not reproduced here; version {} of the software \
         reproduces them",
        shortened(recorded),
        shortened(version)
    )]
    OtherModel {
        /// The model of the record.
        recorded: String,
        /// The model of this software.
        current: &'static str,
        /// The version of the software that wrote the record.
        version: String,
    },

    /// A record whose digest is not that of its content.
    #[error(
        "the record was changed after it was written: its digest is {}, that of its content \
         {computed}",
        shortened(stated)
    )]
    Edited {
        /// The digest that the record states.
        stated: String,
        /// The digest of what the record holds.
        computed: String,
    },

    /// Text that does not follow the syntax of its format (TOML, CSV, JSON).
    #[error("not a valid {format}: {}", shortened(reason))]
    Syntax {
        /// The format.
        format: &'static str,
        /// The parser's answer.
        reason: String,
    },

    /// A key that the format does not have.
    #[error("{}: unknown key{}{}; allowed: {}", shortened(field), nearest.as_ref().map(|n| format!(", did you mean `{n}`?")).unwrap_or_default(), advice.map(|words| format!(": {words}")).unwrap_or_default(), listed(allowed))]
    UnknownKey {
        /// Path of the key.
        field: String,
        /// The allowed key nearest in spelling, if any is near.
        nearest: Option<String>,
        /// What to state in its place, where it is often looked for.
        advice: Option<&'static str>,
        /// All keys allowed there.
        allowed: Vec<String>,
    },

    /// Something required that is not there.
    #[error("{}: missing; needed: {}", shortened(field), shown(needed))]
    Missing {
        /// Path of the key, column or argument.
        field: String,
        /// What is needed, in words.
        needed: String,
    },

    /// Two or more statements that exclude each other.
    #[error(
        "{}: {}; allowed: {}",
        shortened(field),
        shortened(found),
        shown(allowed)
    )]
    Conflict {
        /// Path of the key.
        field: String,
        /// What was found.
        found: String,
        /// What is allowed.
        allowed: String,
    },

    /// A choice by name that does not exist.
    #[error("{}: found `{}`{}; allowed: {}", shortened(field), shortened(found), nearest.as_ref().map(|n| format!(", did you mean `{n}`?")).unwrap_or_default(), listed(allowed))]
    UnknownName {
        /// Path of the key or argument.
        field: String,
        /// The name found.
        found: String,
        /// The allowed name nearest in spelling, if any is near.
        nearest: Option<String>,
        /// The allowed names.
        allowed: Vec<String>,
    },

    /// A value of another type, such as a bare number where text with a unit is needed.
    #[error(
        "{}: found {}; allowed: {}",
        shortened(field),
        shortened(found),
        shown(allowed)
    )]
    WrongType {
        /// Path of the key.
        field: String,
        /// The type and the value found.
        found: String,
        /// What is allowed.
        allowed: String,
    },

    /// Text that is not a number with a unit.
    #[error(
        "{}: `{}` is not a quantity; allowed: {}",
        shortened(field),
        shortened(found),
        shown(allowed)
    )]
    NotAQuantity {
        /// Path of the input.
        field: String,
        /// The text found.
        found: String,
        /// An example of what is allowed.
        allowed: String,
    },

    /// A unit that is not known.
    #[error(
        "{}: unknown unit `{}` in `{}`; allowed: {allowed}",
        shortened(field),
        shortened(unit),
        shortened(found)
    )]
    UnknownUnit {
        /// Path of the input.
        field: String,
        /// The text found.
        found: String,
        /// The unit found.
        unit: String,
        /// Units that are allowed there.
        allowed: String,
    },

    /// A unit of another kind of quantity.
    #[error(
        "{}: `{}` is of kind {found_dimension}, not {dimension}; allowed: {allowed}",
        shortened(field),
        shortened(found)
    )]
    WrongDimension {
        /// Path of the input.
        field: String,
        /// The text found.
        found: String,
        /// The kind of quantity found.
        found_dimension: &'static str,
        /// The kind of quantity needed.
        dimension: &'static str,
        /// Units that are allowed there.
        allowed: String,
    },

    /// A text that is longer than any that makes sense there.
    #[error(
        "{}: found `{}`, {length} bytes; allowed: {most} at most",
        shortened(field),
        shortened(found)
    )]
    TooLong {
        /// Path of the input.
        field: String,
        /// The text found.
        found: String,
        /// Its length in bytes.
        length: usize,
        /// The largest length allowed.
        most: usize,
    },

    /// A number outside its permitted range.
    #[error("{}: found {}; allowed: {}", shortened(field), with_unit(*value, unit), shown(allowed))]
    OutOfRange {
        /// Path of the input or name of the quantity.
        field: String,
        /// The value, in `unit`.
        value: f64,
        /// The unit of value and range.
        unit: String,
        /// The permitted range in words.
        allowed: String,
    },

    /// A shape or length that does not fit.
    #[error(
        "{}: found {found} values; allowed: {}",
        shortened(field),
        shown(allowed)
    )]
    Length {
        /// Path of the input.
        field: String,
        /// The number found.
        found: usize,
        /// What is allowed.
        allowed: String,
    },

    /// Results for one quantity that differ by more than their uncertainties say.
    #[error(
        "{field}: they do not agree, chi-squared {chi_squared:.4} with {dof} degrees of freedom has a \
         p-value of {p_value:.3e}; allowed: {significance} or above for a mean by weights alone; \
         otherwise correct the results or their uncertainties, or take random effects, which \
         estimate what differs between the sets"
    )]
    Disagree {
        /// Path of the results.
        field: String,
        /// The weighted sum of squared differences from the mean.
        chi_squared: f64,
        /// Its degrees of freedom.
        dof: f64,
        /// The probability of a larger one if they agree.
        p_value: f64,
        /// The least probability allowed.
        significance: f64,
    },

    /// The sound ray does not enter the next layer.
    #[error(
        "{field}: no refracted ray, sine of the angle would be {sine:.4}; \
         allowed: below 1, so a wedge angle below {largest_angle_deg:.2} deg{}",
        if field.ends_with("to liquid") { "" } else {
            ", or a slower wave in the layer (shear instead of longitudinal)"
        }
    )]
    TotalReflection {
        /// The interface at which the ray is totally reflected, such as `wedge to wall`.
        field: String,
        /// The sine that Snell's law asks for.
        sine: f64,
        /// The wedge angle at which the refracted ray would just graze, in degrees.
        largest_angle_deg: f64,
    },

    /// A correlation matrix that no set of random variables can have.
    #[error(
        "{field}: not positive semi-definite, smallest eigenvalue {smallest_eigenvalue:.3e}, \
         worst pair {} with {found} where {nearest:.4} would be nearest; \
         allowed: eigenvalues of zero or above",
        shortened(worst_pair)
    )]
    NotPositiveSemiDefinite {
        /// Path of the correlations.
        field: String,
        /// The smallest eigenvalue of the correlation matrix.
        smallest_eigenvalue: f64,
        /// The pair that the nearest valid matrix would change most.
        worst_pair: String,
        /// The coefficient of that pair as given.
        found: f64,
        /// The coefficient of that pair in the nearest valid matrix.
        nearest: f64,
    },

    /// A measurement model failed with an error of its own, which is the source; see [`Error::model`].
    #[error("the model could not be evaluated: {reason}")]
    ModelRaised {
        /// What it said.
        reason: String,
        /// The model's own error.
        source: Option<Cause>,
    },

    /// A run was ended from outside before it was complete.
    #[error("the run was cancelled after {done} of {trials} trials")]
    Cancelled {
        /// Trials done.
        done: u64,
        /// Trials asked for.
        trials: u64,
    },

    /// The measurement model gave no finite result for some Monte Carlo trials.
    #[error(
        "{failed} of {trials} Monte Carlo trials ({:.2} %) gave no finite result, \
         the first at trial {first_trial} ({}); allowed: {}",
        100.0 * *failed as f64 / *trials as f64,
        shown(inputs),
        allowed_failures(*allowed_share)
    )]
    FailedTrials {
        /// Number of trials without a finite result.
        failed: u64,
        /// Number of trials made.
        trials: u64,
        /// Index of the first such trial.
        first_trial: u64,
        /// The inputs of that trial and of the next ones, in words.
        inputs: String,
        /// The share of such trials that was allowed.
        allowed_share: f64,
    },
}

impl Error {
    /// A code that stays the same from version to version.
    pub fn code(&self) -> &'static str {
        match self {
            Error::InFile { source, .. } => source.code(),
            Error::File { .. } => "file",
            Error::Exists { .. } => "exists",
            Error::TooLarge { .. } => "too-large",
            Error::RecordVersion { .. } => "record-version",
            Error::OtherModel { .. } => "other-model",
            Error::Edited { .. } => "edited",
            Error::Syntax { .. } => "syntax",
            Error::UnknownKey { .. } => "unknown-key",
            Error::Missing { .. } => "missing",
            Error::Conflict { .. } => "conflict",
            Error::UnknownName { .. } => "unknown-name",
            Error::WrongType { .. } => "wrong-type",
            Error::NotAQuantity { .. } => "not-a-quantity",
            Error::UnknownUnit { .. } => "unknown-unit",
            Error::WrongDimension { .. } => "wrong-dimension",
            Error::TooLong { .. } => "too-long",
            Error::OutOfRange { .. } => "out-of-range",
            Error::Length { .. } => "length",
            Error::Disagree { .. } => "disagree",
            Error::TotalReflection { .. } => "total-reflection",
            Error::NotPositiveSemiDefinite { .. } => "not-positive-semi-definite",
            Error::ModelRaised { .. } => "model-raised",
            Error::Cancelled { .. } => "cancelled",
            Error::FailedTrials { .. } => "failed-trials",
        }
    }

    /// A measurement model's own error, boxed or not, or text in place of one.
    ///
    /// # Example
    /// ```
    /// use flowdoubt::error::{Error, ErrorKind};
    /// use std::num::ParseIntError;
    ///
    /// fn channel(text: &str) -> flowdoubt::Result<u8> {
    ///     text.parse().map_err(Error::model::<ParseIntError>)
    /// }
    /// let error = channel("three").unwrap_err();
    /// assert_eq!(error.kind(), ErrorKind::Model);
    /// let source = std::error::Error::source(&error).expect("the model's own error");
    /// assert!(source.is::<ParseIntError>());
    /// ```
    pub fn model<E: Into<Box<dyn std::error::Error + Send + Sync>>>(error: E) -> Error {
        let source = Cause::new(error);
        Error::ModelRaised {
            reason: source.to_string(),
            source: Some(source),
        }
    }

    /// The error of a file that the system does not read or write.
    #[cfg(feature = "site")]
    pub(crate) fn file(file: &Path, action: &'static str, error: std::io::Error) -> Error {
        Error::File {
            file: file.to_owned(),
            action,
            reason: error.to_string(),
            source: Some(Cause::new(error)),
        }
    }

    /// The same error with the place in a file where it was found.
    pub fn in_file(self, file: impl Into<PathBuf>, line: usize) -> Error {
        Error::InFile {
            file: file.into(),
            line,
            source: Box::new(self),
        }
    }

    /// The error of a name that is not among `allowed`.
    pub(crate) fn unknown_name(field: &str, found: &str, allowed: &[&str]) -> Error {
        Error::UnknownName {
            field: field.to_owned(),
            found: found.to_owned(),
            nearest: nearest(found, allowed.iter().copied()),
            allowed: allowed.iter().map(|name| (*name).to_owned()).collect(),
        }
    }

    /// The error of a number outside `allowed`, or `Ok` where `inside` holds.
    pub(crate) fn range(
        inside: bool,
        field: impl Into<String>,
        value: f64,
        unit: &str,
        allowed: impl Into<String>,
    ) -> Result<()> {
        Error::range_told_by(inside, field, value, unit, || allowed.into())
    }

    /// As [`Error::range`], for words that take longer to make than the check itself.
    pub(crate) fn range_told_by(
        inside: bool,
        field: impl Into<String>,
        value: f64,
        unit: &str,
        allowed: impl FnOnce() -> String,
    ) -> Result<()> {
        if inside {
            return Ok(());
        }
        Err(Error::OutOfRange {
            field: field.into(),
            value,
            unit: unit.to_owned(),
            allowed: allowed(),
        })
    }
}

/// The path of a file, as it is shown.
fn path(file: &Path) -> String {
    shown(&file.display().to_string()).into_owned()
}

/// The permitted share of failed trials in words.
fn allowed_failures(share: f64) -> String {
    if share == 0.0 {
        "none".to_owned()
    } else {
        format!("{} %", 100.0 * share)
    }
}

/// A number with its unit. Conversion to SI and back leaves noise in the last digits; twelve are
/// enough to recognise what was written.
pub(crate) fn with_unit(value: f64, unit: &str) -> String {
    let rounded: f64 = format!("{value:.11e}").parse().unwrap_or(value);
    let unit = if unit == "1" { "" } else { unit };
    let long = rounded != 0.0 && !(1e-5..1e12).contains(&rounded.abs());
    let number = if long {
        format!("{rounded:e}")
    } else {
        rounded.to_string()
    };
    format!("{number} {unit}").trim_end().to_owned()
}
