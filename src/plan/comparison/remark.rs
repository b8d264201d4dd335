//! Warnings and refusals, each told once with the alternatives and flows it belongs to.

use super::Candidate;
use crate::plan::Expected;

/// A warning, or why nothing can be measured, with what it belongs to.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct Remark {
    /// A name that never changes.
    pub code: &'static str,
    /// What was found and what to do, in the words of the first place where it was found.
    pub words: String,
    /// Whether the words have other figures elsewhere.
    pub has_other_figures: bool,
    /// Whether nothing can be measured there; else it is a warning.
    pub is_refusal: bool,
    /// The places of alternatives, each with the places of its conditions.
    pub belongs_to: Vec<(usize, Vec<usize>)>,
}

/// All remarks, warnings before refusals, in the order in which they are met.
pub(super) fn remarks_of(candidates: &[Candidate<'_>]) -> Vec<Remark> {
    let mut remarks: Vec<Remark> = Vec::new();
    for (alternative, candidate) in candidates.iter().enumerate() {
        for (condition, expected) in candidate.expected.iter().enumerate() {
            let found: Vec<(&'static str, String, bool)> = match expected {
                Ok(expected) => warnings_of(expected),
                Err(why) => vec![(why.code(), why.to_string(), true)],
            };
            for (code, words, is_refusal) in found {
                note(
                    &mut remarks,
                    code,
                    words,
                    is_refusal,
                    (alternative, condition),
                );
            }
        }
    }
    // a sort that keeps the order of what is alike
    remarks.sort_by_key(|remark| remark.is_refusal);
    remarks
}

fn warnings_of(expected: &Expected) -> Vec<(&'static str, String, bool)> {
    let warnings = expected.warnings().into_iter();
    warnings.map(|w| (w.code, w.words, false)).collect()
}

fn note(
    remarks: &mut Vec<Remark>,
    code: &'static str,
    words: String,
    is_refusal: bool,
    (alternative, condition): (usize, usize),
) {
    // errors of one code may be of several kinds: of those only the figures may differ
    let own = remarks.iter_mut().find(|known| {
        let alike = !is_refusal || without_figures(&known.words) == without_figures(&words);
        known.code == code && known.is_refusal == is_refusal && alike
    });
    let Some(own) = own else {
        remarks.push(Remark {
            code,
            words,
            has_other_figures: false,
            is_refusal,
            belongs_to: vec![(alternative, vec![condition])],
        });
        return;
    };
    own.has_other_figures |= own.words != words;
    match own.belongs_to.last_mut() {
        Some((last, conditions)) if *last == alternative => {
            if conditions.last() != Some(&condition) {
                conditions.push(condition);
            }
        }
        _ => own.belongs_to.push((alternative, vec![condition])),
    }
}

/// Words with what may be part of a number left out.
fn without_figures(words: &str) -> String {
    let figures = |c: char| c.is_ascii_digit() || "+-.".contains(c);
    let parts = words.split_whitespace();
    let kept = parts.filter(|part| !part.starts_with(figures));
    kept.collect::<Vec<_>>().join(" ")
}
