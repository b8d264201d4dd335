//! Another site for comparison: the same file with some of its choices changed.

use super::builder::Builder;
use super::instruments::Existing;
use super::{Chosen, Site, SiteFile, Stated};
use crate::error::{Error, Result};
use crate::line_numbers::Lines;
use crate::model::{AngleFrom, Basis, Quantity};
use std::fmt;
use toml::Spanned;

/// Choices that an alternative makes otherwise than the site file; `None` leaves them as they are.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Change {
    /// Number of crossings of the liquid: odd on a direct path, even on a reflected one.
    pub traverses: Option<u32>,
    /// How velocity follows from the readings: timed instead of geometric, or the other way round.
    pub basis: Option<Basis>,
    /// Straight run downstream of the fitting, as text: a length, or inside diameters as in `8 D`. The
    /// uncertainty stays as stated.
    pub straight_run: Option<String>,
    /// Angle between path plane and plane of the bend, as text. The uncertainty stays as stated.
    pub orientation: Option<String>,
    /// Number of planes at right angles whose mean is read: 1 or 2.
    pub planes: Option<u32>,
    /// Instruments in place of those of the site.
    pub instruments: Option<Chosen>,
}

impl fmt::Display for Change {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        let path = |n: u32| {
            if n.is_multiple_of(2) {
                "reflected"
            } else {
                "direct"
            }
        };
        let plural = |n: u32| if n == 1 { "" } else { "s" };
        let parts = [
            self.traverses
                .map(|n| format!("{n} traverse{} ({})", plural(n), path(n))),
            self.basis.map(|basis| basis.in_words().to_owned()),
            self.straight_run
                .as_ref()
                .map(|run| format!("straight run {run}")),
            self.orientation
                .as_ref()
                .map(|angle| format!("path at {angle}")),
            self.planes.map(|n| format!("{n} plane{}", plural(n))),
            self.instruments.as_ref().map(Chosen::to_string),
        ];
        let parts: Vec<String> = parts.into_iter().flatten().collect();
        if parts.is_empty() {
            return f.write_str("as stated");
        }
        f.write_str(&parts.join(", "))
    }
}

impl Site {
    /// The site with some of its choices changed, made anew from the changed sections of its file.
    /// Its [text](Site::text) is that of the file which states the alternative.
    ///
    /// A stated spacing is dropped where the number of traverses changes: it belongs to sensors
    /// that are placed otherwise.
    ///
    /// # Errors
    /// [`Error::Conflict`] or [`Error::Missing`] for what the site file cannot serve: a fitting for
    /// straight run, orientation and planes, the delay of the wedges for the timed basis, a spacing
    /// that decides the angle of the ray where the traverses change, a meter that indicates. Others
    /// as [`Site::load`].
    ///
    /// # Example
    /// ```
    /// use flowdoubt::site::{Change, Site};
    /// let site = Site::load("notebooks/demo/site.toml")?;
    /// let direct = site.with(&Change { traverses: Some(1), ..Change::default() })?;
    /// assert!(direct.text().contains("traverses = 1"));
    /// # Ok::<(), flowdoubt::Error>(())
    /// ```
    pub fn with(&self, change: &Change) -> Result<Site> {
        let mut sections = SiteFile::parse(&self.text, &self.file)?;
        change.apply(&mut sections)?;
        let mut site = Builder {
            text: &self.text,
            lines: Lines::of(&self.text),
            file: &self.file,
            sections: &sections,
        }
        .build()?;
        if *change != Change::default() {
            site.text = sections.to_text()?;
        }
        Ok(site)
    }
}

impl Change {
    fn apply(&self, sections: &mut SiteFile) -> Result<()> {
        if let Some(chosen) = &self.instruments {
            chosen.apply(sections, Existing::Replaced)?;
        }
        let path = sections.path.get_mut();
        if let Some(traverses) = self.traverses
            && traverses != *path.traverses.get_ref()
        {
            let spacing = path.angle_from.as_ref().map(|a| *a.get_ref());
            if spacing == Some(AngleFrom::Spacing) {
                return Err(Error::Conflict {
                    field: "path.traverses".to_owned(),
                    found: format!("{traverses} with a spacing that decides the angle of the ray"),
                    allowed: format!(
                        "{}, to which path.spacing belongs, or path.angle_from = \"wedge\"",
                        path.traverses.get_ref()
                    ),
                });
            }
            path.forget(Quantity::Spacing);
            *path.traverses.get_mut() = traverses;
        }
        if let Some(basis) = self.basis
            && basis != *path.basis.get_ref()
        {
            let stated = *path.basis.get_ref();
            if stated == Basis::Indicated || basis == Basis::Indicated {
                return Err(Error::Conflict {
                    field: "path.basis".to_owned(),
                    found: format!(
                        "{} for a site that is {}",
                        basis.in_words(),
                        stated.in_words()
                    ),
                    allowed: "timed for geometric, or geometric for timed".to_owned(),
                });
            }
            if basis == Basis::Timed && sections.meter.entry(Quantity::WedgeDelay).is_none() {
                return Err(Error::Missing {
                    field: "meter.wedge_delay".to_owned(),
                    needed: "the delay of the wedges, for basis = \"timed\"".to_owned(),
                });
            }
            *path.basis.get_mut() = basis;
        }
        let installation = &mut sections.installation;
        let behind_fitting = [
            ("straight_run", self.straight_run.is_some()),
            ("orientation", self.orientation.is_some()),
            ("planes", self.planes.is_some()),
        ];
        for (key, changed) in behind_fitting {
            if changed && installation.fitting.is_none() {
                return Err(Error::Missing {
                    field: "installation.fitting".to_owned(),
                    needed: format!("a fitting in the site file, to compare by {key}"),
                });
            }
        }
        restate(&mut installation.straight_run, self.straight_run.as_ref());
        restate(&mut installation.orientation, self.orientation.as_ref());
        if let Some(planes) = self.planes {
            let span = installation.planes.as_ref().map_or(0..0, Spanned::span);
            installation.planes = Some(Spanned::new(span, planes));
        }
        Ok(())
    }
}

/// Another value with the uncertainty as it is.
fn restate(entry: &mut Option<Spanned<Stated>>, value: Option<&String>) {
    let Some(value) = value else { return };
    match entry {
        Some(entry) => entry.get_mut().value = Some(value.clone()),
        None => {
            let stated = Stated {
                value: Some(value.clone()),
                ..Stated::default()
            };
            *entry = Some(Spanned::new(0..0, stated));
        }
    }
}
