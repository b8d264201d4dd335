//! How much an alternative asks of those who mount the sensors: our convention, or a number of the
//! caller's.

use crate::error::{Error, Result};
use crate::site::Site;
use crate::uncertainty::plain;

/// What an alternative asks for at the pipe.
///
/// By our convention a count: 1 for each sensor position that is prepared and mounted, 1 for each
/// plane whose sensors sit on opposite sides, since both sides must be reached and a line be carried
/// round half the circumference, and 1 where another place along the pipe than the stated one must
/// be found. A caller who knows better states a number, in whatever unit all alternatives share:
/// hours, people, money.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Effort {
    parts: Vec<(String, f64)>,
}

/// The convention in words, for whoever reads a rank by effort.
pub(super) const CONVENTION: &str = "mounting effort is counted (our convention): 1 for each sensor position, 1 for each plane with sensors on \
     opposite sides, 1 for another place along the pipe than the stated one";

impl Effort {
    /// The effort of a site by our convention; `as_stated` is the site whose place along the pipe
    /// is known.
    pub fn of(site: &Site, as_stated: &Site) -> Effort {
        let planes = site.planes();
        let traverses = site.skeleton.choices().traverses;
        let mut parts = vec![(
            format!("{} sensor positions", 2 * planes),
            2.0 * f64::from(planes),
        )];
        if !traverses.is_multiple_of(2) {
            let words = match planes {
                1 => "both sides of the pipe".to_owned(),
                planes => format!("both sides of the pipe in {planes} planes"),
            };
            parts.push((words, f64::from(planes)));
        }
        if site.straight_run_differs(as_stated) {
            parts.push(("another place along the pipe".to_owned(), 1.0));
        }
        Effort { parts }
    }

    /// An effort that the caller knows.
    ///
    /// # Errors
    /// A number that is below 0 or not finite.
    pub fn stated(total: f64) -> Result<Effort> {
        Effort::default().and("as stated", total)
    }

    /// The effort with another part to it.
    ///
    /// # Errors
    /// A number that is below 0 or not finite.
    pub fn and(mut self, words: &str, amount: f64) -> Result<Effort> {
        let possible = amount >= 0.0 && amount.is_finite();
        Error::range(possible, "efforts", amount, "", "0 or above")?;
        self.parts.push((words.to_owned(), amount));
        Ok(self)
    }

    /// Its parts in words, each with its number.
    pub fn parts(&self) -> &[(String, f64)] {
        &self.parts
    }

    /// The sum of its parts.
    pub fn total(&self) -> f64 {
        self.parts.iter().map(|(_, amount)| amount).sum()
    }

    /// Its parts in words.
    pub fn in_words(&self) -> String {
        let parts: Vec<&str> = self.parts.iter().map(|(words, _)| words.as_str()).collect();
        parts.join(", ")
    }

    /// The sum as it is shown.
    pub(super) fn shown(&self) -> String {
        plain(self.total())
    }
}
