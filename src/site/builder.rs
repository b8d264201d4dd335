//! From the sections of a site file to a site, with the line of whatever is wrong.

use super::file::MeanOf;
use super::stated_quantity::{inputs_of, instrument_input, read_grid};
use super::{Site, SiteFile, Stated, StatedCorrelation};
use crate::acoustics;
use crate::error::{Error, Result};
use crate::line_numbers::Lines;
use crate::model::{Basis, Choices, DiameterFrom, LiquidModel, Quantity, SiteModel, Stating};
use crate::profile::{FrictionLaw, ProfileLaw, TRANSITION_REYNOLDS_LIMITS};
use crate::uncertainty::{Damping, Input, LARGEST_PROBABILITY};
use crate::units::{Dimension, Unit, difference, quantity};
use std::path::Path;
use toml::Spanned;

/// Turns the sections of a file into a [`Site`].
pub(super) struct Builder<'a> {
    pub(super) text: &'a str,
    pub(super) lines: Lines,
    /// The name used in errors.
    pub(super) file: &'a Path,
    pub(super) sections: &'a SiteFile,
}

impl Builder<'_> {
    pub(super) fn build(&self) -> Result<Site> {
        let f = self.sections;
        let (liquid_section, path) = (f.liquid.get_ref(), f.path.get_ref());
        let basis = *path.basis.get_ref();
        acoustics::check_traverses(*path.traverses.get_ref())
            .map_err(|e| self.at(e, &path.traverses))?;
        let diameter_from = self.diameter_from()?;
        let (liquid, vapour_pressure) = self.liquid()?;
        let programmed = self.programmed(basis)?;
        let (law, friction) = self.profile_law()?;
        let pipe = f.pipe.get_ref();
        let choices = Choices {
            basis,
            traverses: *path.traverses.get_ref(),
            diameter_from,
            angle_from: path
                .angle_from
                .as_ref()
                .map(|a| *a.get_ref())
                .unwrap_or_default(),
            layers: self.layers()?,
            ends: pipe.ends.as_ref().map(|e| *e.get_ref()).unwrap_or_default(),
            liquid,
            law,
            friction,
            programmed,
            calibration_curve: self.curve_of(Quantity::CalibrationFactor)?,
            in_situ_curve: self.in_situ_curve()?,
        };
        let mut stated = Vec::new();
        for (quantity, entry) in f.stated() {
            self.check_use(&choices, quantity, entry)?;
            stated.extend(self.entry_inputs(quantity, entry, basis)?);
        }
        self.check_partners(&choices, &stated)?;
        self.check_couplant()?;
        self.check_output(&choices)?;
        stated.extend(self.tabulated_inputs(basis, &stated)?);
        stated.extend(self.layer_inputs(basis)?);
        stated.extend(self.unknown_of_meter(&choices)?);
        stated.extend(self.in_situ_inputs(basis)?);
        let has = |q: Quantity| stated.iter().any(|(other, _)| *other == q);
        let stating = Stating {
            choices: &choices,
            has: &has,
        };
        for quantity in Quantity::ALL {
            if !has(*quantity)
                && let Some(needed) = stating.needs(*quantity)
            {
                return Err(self.missing(*quantity, needed));
            }
        }
        self.check_friction(friction, &stated)?;
        if let Some(entry) = &liquid_section.thermometer {
            if choices.liquid == LiquidModel::Stated && !has(Quantity::Temperature) {
                // no temperature is read then, and this one would be the correction alone
                return Err(self.without_effect("liquid.thermometer", "liquid.temperature", entry));
            }
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
        let inside = *p.get_ref() > 0.0 && *p.get_ref() <= LARGEST_PROBABILITY;
        let allowed = "strictly between 0 and 1, such as 0.95";
        Error::range(
            inside,
            "site.coverage_probability",
            *p.get_ref(),
            "",
            allowed,
        )
        .map_err(|e| self.at(e, p))?;
        let transition = transition_limits(&stated);
        let site = Site {
            name: f.site.name.clone(),
            note: f.site.note.clone(),
            coverage_probability: *p.get_ref(),
            flow_unit,
            skeleton: SiteModel::new(choices),
            vapour_pressure,
            other_wave: self.other_wave(&stated)?,
            calibrated_reynolds: self.calibrated_reynolds()?,
            covers_stated: f.meter.calibration_covers.is_some(),
            in_situ: self.in_situ()?,
            sensor_length: self.sensor_length()?,
            frequency: self.frequency()?,
            damping: self.damping()?,
            resolution: self.resolution()?,
            sampling_interval: self.sampling_interval()?,
            mean_of: f
                .meter
                .mean_of
                .as_ref()
                .map_or_else(MeanOf::default, |m| *m.get_ref()),
            eccentricity: self.eccentricity()?,
            liquid_evidence: self.liquid_evidence(),
            stated: self.without_covered(stated)?.into(),
            derive_law_uncertainty: f.entry(Quantity::LawFactor).is_none(),
            transition,
            inlet_run: self.inlet_run()?,
            temperature_difference: self.temperature_difference()?,
            upstream: self.upstream_fitting()?,
            correlations: self.correlations()?,
            table_options: self.table_options()?.into(),
            wall_material: pipe.material.as_ref().map(|m| m.get_ref().clone()),
            instruments: f.instruments.as_ref().map(|i| i.get_ref().clone()),
            file: self.file.to_owned(),
            text: self.text.into(),
        };
        self.check_in_situ(&site)?;
        Ok(site)
    }

    /// The inputs of an entry, with errors at its line.
    pub(super) fn entry_inputs(
        &self,
        quantity: Quantity,
        entry: &Spanned<Stated>,
        basis: Basis,
    ) -> Result<Vec<(Quantity, Input)>> {
        let inputs = inputs_of(entry.get_ref(), quantity, basis).map_err(|e| self.at(e, entry))?;
        Ok(inputs.into_iter().map(|input| (quantity, input)).collect())
    }

    /// Refuses what would be read and then forgotten.
    fn check_use(&self, choices: &Choices, q: Quantity, entry: &Spanned<Stated>) -> Result<()> {
        // no use of a quantity depends on what else is stated
        let stating = Stating {
            choices,
            has: &|_| false,
        };
        if stating.liquid_uses(q) {
            return Ok(());
        }
        let found = format!("stated with liquid.kind = \"{}\"", self.kind());
        let conflict = Error::Conflict {
            field: q.path().into_owned(),
            found,
            allowed: "only where the properties of the liquid are computed or stated that way"
                .to_owned(),
        };
        Err(self.at(conflict, entry))
    }

    fn kind(&self) -> &str {
        self.sections.liquid.get_ref().kind.get_ref()
    }

    /// Whether the temperature of the liquid is part of its model.
    pub(super) fn liquid_has_temperature(&self) -> bool {
        self.kind() != "stated"
    }

    fn liquid_evidence(&self) -> String {
        let table = self.sections.liquid.get_ref().table.as_ref();
        table.map_or_else(String::new, |table| table.get_ref().evidence.clone())
    }

    /// Eccentricity in m of the bore, where a grid of wall readings shows it.
    fn eccentricity(&self) -> Result<Option<f64>> {
        let wall = self.sections.entry(Quantity::Wall);
        let Some(rings) = wall.and_then(|wall| wall.get_ref().grid.as_ref()) else {
            return Ok(None);
        };
        let (grid, _) = read_grid(rings)?;
        Ok(grid.eccentric.map(|e| e.eccentricity))
    }

    fn frequency(&self) -> Result<Option<f64>> {
        let Some(text) = &self.sections.path.get_ref().frequency else {
            return Ok(None);
        };
        let field = "path.frequency";
        self.positive(text, Dimension::Frequency, field).map(Some)
    }

    fn sensor_length(&self) -> Result<Option<f64>> {
        let Some(text) = &self.sections.path.get_ref().sensor_length else {
            return Ok(None);
        };
        let field = "path.sensor_length";
        self.positive(text, Dimension::Length, field).map(Some)
    }

    /// The temperature difference across the pipe that the file states.
    fn temperature_difference(&self) -> Result<Option<f64>> {
        let Some(text) = &self.sections.liquid.get_ref().temperature_difference else {
            return Ok(None);
        };
        let field = "liquid.temperature_difference";
        let read = difference(text.get_ref(), f64::NAN, Dimension::Temperature, field);
        let read = read.and_then(|kelvin| {
            Error::range(kelvin >= 0.0, field, kelvin, "K", "0 or above")?;
            Ok(kelvin)
        });
        read.map(Some).map_err(|e| self.at(e, text))
    }

    fn damping(&self) -> Result<Option<Damping>> {
        let Some(section) = &self.sections.meter.damping else {
            return Ok(None);
        };
        let read = |text: &Spanned<String>, key: &str| {
            self.positive(text, Dimension::Time, &format!("meter.damping.{key}"))
        };
        let stated = section.get_ref();
        match (&stated.time_constant, &stated.window) {
            (Some(text), None) => {
                let time = read(text, "time_constant")?;
                Ok(Some(Damping::TimeConstant(time)))
            }
            (None, Some(text)) => Ok(Some(Damping::Window(read(text, "window")?))),
            (None, None) => Err(self.at(
                Error::Missing {
                    field: "meter.damping".to_owned(),
                    needed: "time_constant or window".to_owned(),
                },
                section,
            )),
            (Some(_), Some(window)) => Err(self.at(
                Error::Conflict {
                    field: "meter.damping.window".to_owned(),
                    found: "a window beside a time constant".to_owned(),
                    allowed: "one of the two".to_owned(),
                },
                window,
            )),
        }
    }

    fn resolution(&self) -> Result<Option<f64>> {
        let text = self.sections.meter.resolution.as_ref();
        let read = |text| self.positive(text, Dimension::Time, "meter.resolution");
        text.map(read).transpose()
    }

    fn sampling_interval(&self) -> Result<Option<f64>> {
        let text = self.sections.meter.sampling_interval.as_ref();
        let read = |text| self.positive(text, Dimension::Time, "meter.sampling_interval");
        text.map(read).transpose()
    }

    /// A text that states a number above 0 without uncertainty, in SI units.
    pub(super) fn positive(
        &self,
        text: &Spanned<String>,
        dimension: Dimension,
        field: &str,
    ) -> Result<f64> {
        let read = quantity(text.get_ref(), dimension, field).and_then(|read| {
            let shown = read.unit.from_si(read.si);
            Error::range(read.si > 0.0, field, shown, &read.unit.symbol, "above 0")?;
            Ok(read.si)
        });
        read.map_err(|e| self.at(e, text))
    }

    /// Places an error at the line of the value that caused it.
    pub(super) fn at<T>(&self, error: Error, value: &Spanned<T>) -> Error {
        error.in_file(self.file, self.line(value))
    }

    /// The line in which a value stands.
    pub(super) fn line<T>(&self, value: &Spanned<T>) -> usize {
        self.lines.at(value.span().start)
    }

    /// A quantity that its section lacks. Only required sections have required quantities.
    fn missing(&self, quantity: Quantity, needed: &str) -> Error {
        let error = Error::Missing {
            field: quantity.path().into_owned(),
            needed: needed.to_owned(),
        };
        match quantity.path().split('.').next() {
            Some("liquid") => self.at(error, &self.sections.liquid),
            Some("path") => self.at(error, &self.sections.path),
            _ => self.at(error, &self.sections.pipe),
        }
    }

    fn diameter_from(&self) -> Result<DiameterFrom> {
        let pipe = self.sections.pipe.get_ref();
        let stated = [Quantity::OutsideCircumference, Quantity::OutsideDiameter];
        match stated.map(|q| pipe.entry(q)).into() {
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
            (None, None) if pipe.standard.is_some() => Ok(DiameterFrom::Diameter),
            (None, None) => Err(self.missing(
                Quantity::OutsideCircumference,
                "outside_circumference or outside_diameter, or a standard with size and schedule",
            )),
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
        let law = match &section.n {
            Some(n) => law
                .with_n(Some(*n.get_ref()), "profile.n")
                .map_err(|e| self.at(e, n))?,
            None => law,
        };
        Ok((law, friction))
    }

    /// Refuses roughness that a law of friction for smooth pipes would leave out without a word,
    /// its uncertainty included.
    fn check_friction(&self, friction: FrictionLaw, stated: &[(Quantity, Input)]) -> Result<()> {
        let rough = |(quantity, input): &(Quantity, Input)| {
            *quantity == Quantity::Roughness
                && (input.estimate() > 0.0 || input.standard_uncertainty() > 0.0)
        };
        match &self.sections.profile.friction {
            Some(name) if friction.is_smooth() && stated.iter().any(rough) => Err(self.at(
                Error::Conflict {
                    field: "profile.friction".to_owned(),
                    found: format!(
                        "\"{}\", a law for smooth pipes, beside pipe.roughness",
                        friction.name()
                    ),
                    allowed: "\"colebrook\" or \"haaland\", or no pipe.roughness".to_owned(),
                },
                name,
            )),
            _ => Ok(()),
        }
    }

    fn correlations(&self) -> Result<Vec<StatedCorrelation>> {
        let stated = self.sections.correlation.iter();
        let stated = stated.map(|c| c.stated(&self.lines, self.file));
        let mut all: Vec<StatedCorrelation> = stated.collect::<Result<_>>()?;
        let factor = Quantity::CalibrationFactor;
        all.extend(self.point_correlations(factor, self.sections.entry(factor))?);
        let in_situ = self.in_situ_factor()?;
        all.extend(self.point_correlations(Quantity::InSituFactor, in_situ)?);
        Ok(all)
    }
}

/// Reynolds numbers between which the flow is turbulent half of the time: two standard uncertainties
/// on either side of a stated one.
fn transition_limits(stated: &[(Quantity, Input)]) -> [f64; 2] {
    let own = stated
        .iter()
        .filter(|(q, _)| *q == Quantity::TransitionReynolds);
    let inputs: Vec<&Input> = own.map(|(_, input)| input).collect();
    if inputs.is_empty() {
        return TRANSITION_REYNOLDS_LIMITS;
    }
    let estimate: f64 = inputs.iter().map(|input| input.estimate()).sum();
    let square = |input: &&Input| input.standard_uncertainty() * input.standard_uncertainty();
    let reach = 2.0 * inputs.iter().map(square).sum::<f64>().sqrt();
    [estimate - reach, estimate + reach]
}
