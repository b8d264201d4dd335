//! A site: pipe, liquid, sound path, meter and installation, with the doubt of each.

mod file;
mod intermediate;
mod model;
mod quantity;
mod stated;

pub use file::{
    CorrelationSection, InstallationSection, LiquidSection, MeterSection, PathSection, PipeSection,
    ProfileSection, ProgrammedSection, SiteFile, SiteSection,
};
pub use intermediate::Intermediates;
pub use model::{Basis, DiameterFrom, LiquidModel, Programmed, SiteModel};
pub use quantity::{Component, Quantity};
pub use stated::{Instrument, Stated};

use crate::error::{Error, Result};
use crate::profile::{FrictionLaw, ProfileLaw};
use crate::uncertainty::Input;
use crate::units::{Dimension, Unit};
use stated::{inputs_of, instrument_input};
use std::path::{Path, PathBuf};

/// A site as described by its file: read, checked and ready to evaluate readings.
#[derive(Debug, Clone)]
pub struct Site {
    /// The name of the site.
    pub name: String,
    /// Remarks in words.
    pub note: String,
    /// The coverage probability at which expanded uncertainties are stated.
    pub coverage_probability: f64,
    /// The unit in which the volume flow is shown.
    pub flow_unit: Unit,
    /// The measurement model without its inputs.
    pub(crate) skeleton: SiteModel,
    /// The inputs that the file states, each with the quantity it is a term of.
    pub(crate) stated: Vec<(Quantity, Input)>,
    /// Whether the doubt of the profile law is left to the spread between laws.
    pub(crate) derive_law_doubt: bool,
    /// Correlation coefficients by pairs of input names.
    pub(crate) correlations: Vec<(String, String, f64)>,
}

impl Site {
    /// Reads a site file.
    ///
    /// # Errors
    /// The file cannot be read, or anything in it is wrong; the error names file, line, what was
    /// found and what is allowed.
    pub fn load(path: impl AsRef<Path>) -> Result<Site> {
        let path = path.as_ref();
        let text = std::fs::read_to_string(path).map_err(|e| Error::File {
            file: path.to_owned(),
            action: "read",
            reason: e.to_string(),
        })?;
        Site::from_toml(&text, path)
    }

    /// Reads a site from TOML text; `file` is the name used in errors.
    ///
    /// # Errors
    /// As [`Site::load`].
    ///
    /// # Example
    /// ```
    /// let error = flowdoubt::site::Site::from_toml("[pipe]\nwal = \"7 mm\"", "a.toml")
    ///     .expect_err("a misspelt key");
    /// assert!(error.to_string().starts_with("a.toml:2: wal: unknown key, did you mean `wall`?"));
    /// ```
    pub fn from_toml(text: &str, file: impl Into<PathBuf>) -> Result<Site> {
        let file = file.into();
        let sections = SiteFile::parse(text, &file)?;
        Builder {
            text,
            file: &file,
            sections: &sections,
        }
        .build()
    }
}

/// Turns the sections of a file into a [`Site`].
struct Builder<'a> {
    text: &'a str,
    file: &'a Path,
    sections: &'a SiteFile,
}

impl Builder<'_> {
    fn build(&self) -> Result<Site> {
        let f = self.sections;
        let basis = f.path.basis;
        let diameter_from = self.diameter_from()?;
        let liquid = LiquidModel::from_name(f.liquid.kind.get_ref(), "liquid.kind")
            .map_err(|e| self.at(e, &f.liquid.kind))?;
        let programmed = self.programmed(basis)?;
        let (law, friction) = self.profile_law()?;
        let skeleton = SiteModel::new(
            basis,
            f.path.traverses,
            diameter_from,
            liquid,
            law,
            friction,
            programmed,
        );
        let mut stated = Vec::new();
        for (quantity, entry) in f.stated() {
            if let Some(entry) = entry {
                let inputs =
                    inputs_of(entry.get_ref(), quantity, basis).map_err(|e| self.at(e, entry))?;
                stated.extend(inputs.into_iter().map(|input| (quantity, input)));
            } else if let Some(needed) = skeleton.needs(quantity) {
                return Err(self.whole(Error::Missing {
                    field: quantity.path().to_owned(),
                    needed: needed.to_owned(),
                }));
            }
        }
        if let Some(entry) = &f.liquid.thermometer {
            let (q, unit) = (Quantity::Temperature, Dimension::Temperature.si_unit());
            let input = instrument_input(entry.get_ref(), q, basis, f64::NAN, &unit)
                .map_err(|e| self.at(e, entry))?;
            stated.push((q, input));
        }
        let flow_unit = Unit::parse(
            f.site.flow_unit.get_ref(),
            Dimension::VolumeFlow,
            "site.flow_unit",
        )
        .map_err(|e| self.at(e, &f.site.flow_unit))?;
        let p = &f.site.coverage_probability;
        let inside = *p.get_ref() > 0.0 && *p.get_ref() < 1.0;
        let allowed = "strictly between 0 and 1";
        Error::range(
            inside,
            "site.coverage_probability",
            *p.get_ref(),
            "",
            allowed,
        )
        .map_err(|e| self.at(e, p))?;
        Ok(Site {
            name: f.site.name.clone(),
            note: f.site.note.clone(),
            coverage_probability: *p.get_ref(),
            flow_unit,
            skeleton,
            stated,
            derive_law_doubt: f.profile.law_factor.is_none(),
            correlations: self.correlations()?,
        })
    }

    /// Places an error at the line of the value that caused it.
    fn at<T>(&self, error: Error, value: &toml::Spanned<T>) -> Error {
        error.in_file(self.file, file::line_of(self.text, value.span().start))
    }

    /// Places an error that concerns no single line at the first.
    fn whole(&self, error: Error) -> Error {
        error.in_file(self.file, 1)
    }

    fn diameter_from(&self) -> Result<DiameterFrom> {
        let pipe = &self.sections.pipe;
        match (&pipe.outside_circumference, &pipe.outside_diameter) {
            (Some(_), None) => Ok(DiameterFrom::Circumference),
            (None, Some(_)) => Ok(DiameterFrom::Diameter),
            (Some(_), Some(both)) => Err(self.at(
                Error::Conflict {
                    field: "pipe.outside_diameter".to_owned(),
                    found: "outside_diameter beside outside_circumference".to_owned(),
                    allowed: "one of the two".to_owned(),
                },
                both,
            )),
            (None, None) => Err(self.whole(Error::Missing {
                field: "pipe.outside_circumference".to_owned(),
                needed: "outside_circumference or outside_diameter".to_owned(),
            })),
        }
    }

    fn profile_law(&self) -> Result<(ProfileLaw, FrictionLaw)> {
        let section = &self.sections.profile;
        let law = match &section.law {
            Some(name) => {
                let law = ProfileLaw::from_name(name.get_ref(), "profile.law");
                law.map_err(|e| self.at(e, name))?
            }
            None => ProfileLaw::default(),
        };
        let friction = match &section.friction {
            Some(name) => {
                let law = FrictionLaw::from_name(name.get_ref(), "profile.friction");
                law.map_err(|e| self.at(e, name))?
            }
            None => FrictionLaw::default(),
        };
        let law = match &section.kappa {
            Some(kappa) => law
                .with_kappa(Some(*kappa.get_ref()), "profile.kappa")
                .map_err(|e| self.at(e, kappa))?,
            None => law,
        };
        Ok((law, friction))
    }

    fn programmed(&self, basis: Basis) -> Result<Option<Programmed>> {
        match (&self.sections.meter.programmed, basis) {
            (Some(section), Basis::Indicated) => Programmed::read(section.get_ref())
                .map(Some)
                .map_err(|e| self.at(e, section)),
            (None, Basis::Indicated) => Err(self.whole(Error::Missing {
                field: "meter.programmed".to_owned(),
                needed: "the parameters programmed into the meter, for basis = \"indicated\""
                    .to_owned(),
            })),
            (Some(section), _) => Err(self.at(
                Error::Conflict {
                    field: "meter.programmed".to_owned(),
                    found: "programmed parameters without indicated readings".to_owned(),
                    allowed: "meter.programmed with path.basis = \"indicated\" only".to_owned(),
                },
                section,
            )),
            (None, _) => Ok(None),
        }
    }

    fn correlations(&self) -> Result<Vec<(String, String, f64)>> {
        let read = |entry: &toml::Spanned<CorrelationSection>| {
            let c = entry.get_ref();
            let inside = (-1.0..=1.0).contains(&c.coefficient);
            let field = "correlation.coefficient";
            Error::range(inside, field, c.coefficient, "", "-1 to 1")
                .map_err(|e| self.at(e, entry))?;
            let [a, b] = c.between.clone();
            Ok((a, b, c.coefficient))
        };
        self.sections.correlation.iter().map(read).collect()
    }
}
