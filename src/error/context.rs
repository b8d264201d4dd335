//! The parts of an error, one by one.

use super::{Error, allowed_failures, listed, path, shortened, with_unit};
use crate::text::shown;

/// The parts of an error that a caller may want to show apart from the message.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
#[non_exhaustive]
pub struct Context {
    /// Path of the input.
    pub field: Option<String>,
    /// What was found.
    pub found: Option<String>,
    /// What is allowed.
    pub allowed: Option<String>,
}

impl Error {
    /// The path of the input concerned, what was found there and what is allowed, as text.
    /// Empty where the variant has no such part.
    pub fn context(&self) -> Context {
        let text = |s: &String| Some(shortened(s).into_owned());
        let (field, found, allowed) = match self {
            Error::InFile { source, .. } => return source.context(),
            Error::File { file, reason, .. } => (Some(path(file)), text(reason), None),
            Error::Exists { file } => (Some(path(file)), None, None),
            Error::TooLarge { file, bytes, most } => (
                Some(path(file)),
                Some(format!("{bytes} bytes")),
                Some(format!("{most} bytes at most")),
            ),
            Error::RecordVersion { found, allowed, .. } => (
                Some("version".to_owned()),
                Some(found.to_string()),
                text(allowed),
            ),
            Error::OtherModel {
                recorded,
                current,
                version,
            } => (
                Some("content.model".to_owned()),
                text(recorded),
                Some(format!(
                    "{current}; version {version} of the software for this one"
                )),
            ),
            Error::Edited { stated, computed } => {
                (Some("digest".to_owned()), text(stated), text(computed))
            }
            Error::Syntax { reason, .. } => (None, text(reason), None),
            Error::UnknownKey { field, allowed, .. } => {
                (text(field), text(field), Some(listed(allowed)))
            }
            Error::Missing { field, needed } => (text(field), None, text(needed)),
            Error::Conflict {
                field,
                found,
                allowed,
            }
            | Error::WrongType {
                field,
                found,
                allowed,
            }
            | Error::NotAQuantity {
                field,
                found,
                allowed,
            }
            | Error::UnknownUnit {
                field,
                found,
                allowed,
                ..
            }
            | Error::WrongDimension {
                field,
                found,
                allowed,
                ..
            } => (text(field), text(found), text(allowed)),
            Error::UnknownName {
                field,
                found,
                allowed,
                ..
            } => (text(field), text(found), Some(listed(allowed))),
            Error::TooLong {
                field,
                found,
                length,
                most,
            } => (
                text(field),
                Some(format!("`{}`, {length} bytes", shortened(found))),
                Some(format!("{most} bytes at most")),
            ),
            Error::OutOfRange {
                field,
                value,
                unit,
                allowed,
            } => (text(field), Some(with_unit(*value, unit)), text(allowed)),
            Error::Length {
                field,
                found,
                allowed,
            } => (text(field), Some(found.to_string()), text(allowed)),
            Error::Disagree {
                field,
                chi_squared,
                p_value,
                significance,
                ..
            } => (
                text(field),
                Some(format!("chi-squared {chi_squared}, p-value {p_value}")),
                Some(format!("a p-value of {significance} or above")),
            ),
            Error::TotalReflection {
                field,
                sine,
                largest_angle_deg,
            } => (
                text(field),
                Some(format!("sine {sine}")),
                Some(format!("wedge angle below {largest_angle_deg} deg")),
            ),
            Error::NotPositiveSemiDefinite {
                field,
                smallest_eigenvalue,
                worst_pair,
                nearest,
                ..
            } => (
                text(field),
                Some(format!("eigenvalue {smallest_eigenvalue}")),
                Some(format!(
                    "zero or above; {}: {nearest:.4}",
                    shown(worst_pair)
                )),
            ),
            Error::ModelRaised { reason, .. } => (Some("model".to_owned()), text(reason), None),
            Error::Cancelled { done, .. } => (
                Some("trials".to_owned()),
                Some(format!("{done} trials done")),
                None,
            ),
            Error::FailedTrials {
                failed,
                inputs,
                allowed_share,
                ..
            } => (
                None,
                Some(format!(
                    "{failed} failed trials, first with {}",
                    shown(inputs)
                )),
                Some(allowed_failures(*allowed_share)),
            ),
        };
        Context {
            field,
            found,
            allowed,
        }
    }
}
