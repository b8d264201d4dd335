//! Kinds of errors, for who decides by them what to do.

use super::Error;

/// What kind of thing went wrong. [`Error::code`] tells each error apart.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[non_exhaustive]
pub enum ErrorKind {
    /// Something missing, unknown, contradictory or not in the syntax of its format.
    Input,
    /// Text that is not a quantity with a unit of the right kind.
    Unit,
    /// A number outside its permitted range, or a sound path that does not exist.
    Range,
    /// A correlation matrix that no set of random variables can have.
    Correlation,
    /// A measurement model that failed with an error of its own, the [`source`](std::error::Error::source).
    Model,
    /// A record that was changed, of a version or a model that is not reproduced here; a file that is
    /// too large, or would be overwritten.
    Record,
    /// Monte Carlo trials without a finite result.
    Trials,
    /// A run that was ended from outside.
    Cancelled,
    /// The system did not read or write a file; its answer is the [`source`](std::error::Error::source).
    File,
}

impl Error {
    /// The kind of error; of an error with its place in a file, that of the error found there.
    ///
    /// # Example
    /// ```
    /// use flowdoubt::error::ErrorKind;
    /// use flowdoubt::uncertainty::Input;
    /// let error = Input::with_standard_uncertainty("voltage", 5.0, -1.0, 9.0).unwrap_err();
    /// assert_eq!(error.kind(), ErrorKind::Range);
    /// ```
    pub fn kind(&self) -> ErrorKind {
        match self {
            Error::InFile { source, .. } => source.kind(),
            Error::UnknownKey { .. }
            | Error::Missing { .. }
            | Error::Conflict { .. }
            | Error::UnknownName { .. }
            | Error::WrongType { .. }
            | Error::Syntax { .. }
            | Error::Length { .. }
            | Error::Disagree { .. } => ErrorKind::Input,
            Error::NotAQuantity { .. }
            | Error::TooLong { .. }
            | Error::UnknownUnit { .. }
            | Error::WrongDimension { .. } => ErrorKind::Unit,
            Error::OutOfRange { .. } | Error::TotalReflection { .. } => ErrorKind::Range,
            Error::NotPositiveSemiDefinite { .. } => ErrorKind::Correlation,
            Error::ModelRaised { .. } => ErrorKind::Model,
            Error::Exists { .. }
            | Error::TooLarge { .. }
            | Error::RecordVersion { .. }
            | Error::OtherModel { .. }
            | Error::Edited { .. } => ErrorKind::Record,
            Error::FailedTrials { .. } => ErrorKind::Trials,
            Error::Cancelled { .. } => ErrorKind::Cancelled,
            Error::File { .. } => ErrorKind::File,
        }
    }
}
