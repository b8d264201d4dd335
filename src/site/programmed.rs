//! What was programmed into the meter.

use super::builder::Builder;
use super::file::ProgrammedSection;
use crate::acoustics::axial_slowness;
use crate::error::{Error, Result};
use crate::model::{Basis, Choices, Programmed, Quantity};
use crate::uncertainty::{Input, Shape};
use crate::units::{Dimension, Unit, quantity};
use toml::Spanned;

impl Builder<'_> {
    /// What was programmed, which the indicated basis needs.
    pub(super) fn programmed(&self, basis: Basis) -> Result<Option<Programmed>> {
        match (&self.sections.meter.programmed, basis) {
            (Some(section), Basis::Indicated) => self.read_programmed(section).map(Some),
            (None, Basis::Indicated) => {
                let missing = Error::Missing {
                    field: "meter.programmed".to_owned(),
                    needed: "the parameters programmed into the meter, for basis = \"indicated\""
                        .to_owned(),
                };
                Err(self.at(missing, &self.sections.path.get_ref().basis))
            }
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

    fn read_programmed(&self, section: &Spanned<ProgrammedSection>) -> Result<Programmed> {
        let read = |text: &Option<Spanned<String>>, key: &str, dimension: Dimension| {
            let text = text.as_ref();
            let field = format!("meter.programmed.{key}");
            text.map(|text| self.positive(text, dimension, &field))
                .transpose()
        };
        let keys = section.get_ref();
        let (length, velocity) = (Dimension::Length, Dimension::Velocity);
        let (wall_speed, liner_speed) = (&keys.wall_sound_speed, &keys.liner_sound_speed);
        Ok(Programmed {
            principle: keys.principle.as_ref().map(|p| *p.get_ref()),
            inside_diameter: read(&keys.inside_diameter, "inside_diameter", length)?,
            profile_factor: self.programmed_factor(keys)?,
            axial_slowness: self.programmed_slowness(section)?,
            liquid_sound_speed: read(&keys.liquid_sound_speed, "liquid_sound_speed", velocity)?,
            wall: read(&keys.wall, "wall", length)?,
            wall_sound_speed: read(wall_speed, "wall_sound_speed", velocity)?,
            liner: read(&keys.liner, "liner", length)?,
            liner_sound_speed: read(liner_speed, "liner_sound_speed", velocity)?,
            kinematic_viscosity: read(
                &keys.kinematic_viscosity,
                "kinematic_viscosity",
                Dimension::KinematicViscosity,
            )?,
            roughness: read(&keys.roughness, "roughness", length)?,
            current_span: self.current_span(section)?,
            pulse_value: read(&keys.pulse_value, "pulse_value", Dimension::Volume)?,
            totaliser_resolution: read(
                &keys.totaliser_resolution,
                "totaliser_resolution",
                Dimension::Volume,
            )?,
            counter_digits: self.counter_digits(keys)?,
        })
    }

    /// The volume flows at 4 mA and at 20 mA of a current output.
    fn current_span(&self, section: &Spanned<ProgrammedSection>) -> Result<Option<[f64; 2]>> {
        let keys = section.get_ref();
        let read = |text: &Spanned<String>, key: &str| {
            let field = format!("meter.programmed.{key}");
            let read = quantity(text.get_ref(), Dimension::VolumeFlow, &field);
            read.map(|read| read.si).map_err(|e| self.at(e, text))
        };
        match (&keys.flow_at_4_ma, &keys.flow_at_20_ma) {
            (Some(low), Some(high)) => {
                let span = [read(low, "flow_at_4_mA")?, read(high, "flow_at_20_mA")?];
                if span[0] == span[1] {
                    let conflict = Error::Conflict {
                        field: "meter.programmed.flow_at_20_mA".to_owned(),
                        found: format!("`{}`, as at 4 mA", high.get_ref()),
                        allowed: "two different flows, between which the current is linear"
                            .to_owned(),
                    };
                    return Err(self.at(conflict, high));
                }
                Ok(Some(span))
            }
            (None, None) => Ok(None),
            _ => {
                let missing = Error::Missing {
                    field: "meter.programmed".to_owned(),
                    needed: "flow_at_4_mA and flow_at_20_mA together".to_owned(),
                };
                Err(self.at(missing, section))
            }
        }
    }

    /// The number of digits of a counter, which has something to count.
    fn counter_digits(&self, keys: &ProgrammedSection) -> Result<Option<u32>> {
        let Some(stated) = &keys.counter_digits else {
            return Ok(None);
        };
        let field = "meter.programmed.counter_digits";
        let digits = *stated.get_ref();
        let inside = (2..=15).contains(&digits);
        Error::range(inside, field, f64::from(digits), "", "2 to 15")
            .map_err(|e| self.at(e, stated))?;
        if keys.pulse_value.is_none() && keys.totaliser_resolution.is_none() {
            let partner = "meter.programmed.pulse_value or totaliser_resolution";
            return Err(self.without_effect(field, partner, stated));
        }
        Ok(Some(digits))
    }

    /// Refuses uncertainties of an output that the meter is not said to have.
    pub(super) fn check_output(&self, choices: &Choices) -> Result<()> {
        let programmed = choices.programmed.unwrap_or_default();
        let loops = programmed.current_span.is_some();
        let counts = programmed.pulse_value.is_some() || programmed.totaliser_resolution.is_some();
        for (q, used, partner) in [
            (Quantity::CurrentOutput, loops, "flow_at_4_mA"),
            (Quantity::CurrentInput, loops, "flow_at_4_mA"),
            (
                Quantity::CounterClock,
                counts,
                "pulse_value or totaliser_resolution",
            ),
        ] {
            if let (Some(entry), false) = (self.sections.entry(q), used) {
                let partner = format!("meter.programmed.{partner}");
                return Err(self.without_effect(&q.path(), &partner, entry));
            }
        }
        Ok(())
    }

    /// The profile factor that the meter applied, if it is known.
    fn programmed_factor(&self, keys: &ProgrammedSection) -> Result<Option<f64>> {
        let Some(stated) = &keys.profile_factor else {
            return Ok(None);
        };
        let field = "meter.programmed.profile_factor";
        let factor = *stated.get_ref();
        let inside = (0.5..=1.5).contains(&factor);
        Error::range(inside, field, factor, "", "0.5 to 1.5").map_err(|e| self.at(e, stated))?;
        let own = [
            ("kinematic_viscosity", &keys.kinematic_viscosity),
            ("roughness", &keys.roughness),
        ];
        for (key, text) in own {
            if let Some(text) = text {
                let conflict = Error::Conflict {
                    field: format!("meter.programmed.{key}"),
                    found: "stated beside profile_factor, so that it would have no effect"
                        .to_owned(),
                    allowed: "without profile_factor, for a meter that finds its own".to_owned(),
                };
                return Err(self.at(conflict, text));
            }
        }
        Ok(Some(factor))
    }

    fn programmed_slowness(&self, section: &Spanned<ProgrammedSection>) -> Result<Option<f64>> {
        let keys = section.get_ref();
        match (&keys.wedge_angle, &keys.wedge_sound_speed) {
            (Some(angle_text), Some(speed_text)) => {
                let field = "meter.programmed.wedge_angle";
                let angle = self.positive(angle_text, Dimension::Angle, field)?;
                let shown = angle.to_degrees();
                Error::range(shown < 90.0, field, shown, "deg", "between 0 and 90")
                    .map_err(|e| self.at(e, angle_text))?;
                let field = "meter.programmed.wedge_sound_speed";
                let speed = self.positive(speed_text, Dimension::Velocity, field)?;
                Ok(Some(axial_slowness(angle, speed)))
            }
            (None, None) => Ok(None),
            _ => {
                let missing = Error::Missing {
                    field: "meter.programmed".to_owned(),
                    needed:
                        "wedge_angle and wedge_sound_speed together, or neither where they are \
                             those of the sensors"
                            .to_owned(),
                };
                Err(self.at(missing, section))
            }
        }
    }

    /// What is not known of a meter that indicates, each allowed for as anything that it can be.
    pub(super) fn unknown_of_meter(&self, choices: &Choices) -> Result<Vec<(Quantity, Input)>> {
        let share = Quantity::ProfileCorrection;
        let stated = self.sections.entry(share);
        let Some(programmed) = &choices.programmed else {
            return match stated {
                Some(entry) => Err(self.without_effect(&share.path(), "meter.programmed", entry)),
                None => Ok(Vec::new()),
            };
        };
        let mut unknown = Vec::new();
        match (programmed.profile_factor, stated) {
            (Some(_), Some(entry)) => {
                let conflict = Error::Conflict {
                    field: share.path().into_owned(),
                    found: "stated beside meter.programmed.profile_factor".to_owned(),
                    allowed: "one of the two".to_owned(),
                };
                return Err(self.at(conflict, entry));
            }
            (None, None) => unknown.push((
                share,
                "what the meter corrects the profile with is not known: from nothing to all of it",
            )),
            _ => {}
        }
        if programmed.principle.is_none() && programmed.principle_matters() {
            let words = "whether the meter is timed or geometric is not known";
            unknown.push((Quantity::GeometricShare, words));
        }
        let unknown = unknown.into_iter();
        unknown
            .map(|(q, evidence)| {
                let (path, dof) = (q.path(), f64::INFINITY);
                let input = Input::with_half_width(&path, 0.5, 0.5, Shape::Rectangular, dof)?
                    .shown_in(Unit::named("1"))
                    .in_component(q.component(choices.basis).in_words())
                    .evidence_in_words(evidence);
                Ok((q, input))
            })
            .collect()
    }
}
