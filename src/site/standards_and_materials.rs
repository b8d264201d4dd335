//! What a site file leaves to standards and to tables of materials.

use super::builder::Builder;
use super::file::Wave;
use crate::error::{Error, Result};
use crate::model::{Basis, Quantity};
use crate::pipe::{Dimensions, Figure, Material, Range, Status};
use crate::uncertainty::{Input, Shape};
use crate::units::{Dimension, Unit};

/// Shear waves slower than this die out in the wall of a pipe; so they do in plastics, not in
/// metals and glass. In m/s; common practice without source.
const SLOW_SHEAR_M_S: f64 = 1500.0;

impl Material {
    /// The sound speed of a wave and its change with temperature; where no wave is asked for,
    /// that of the shear wave in metals and glass, else of the longitudinal one.
    fn wave_or_usual(&self, wave: Option<Wave>) -> Wave {
        let carries = |f: &Figure| f.range.estimate > SLOW_SHEAR_M_S;
        wave.unwrap_or(match &self.shear_speed {
            Some(speed) if carries(speed) => Wave::Shear,
            _ => Wave::Longitudinal,
        })
    }

    pub(super) fn sound_speed(&self, wave: Wave, field: &str) -> Result<&Figure> {
        match wave {
            Wave::Longitudinal => Ok(&self.longitudinal_speed),
            Wave::Shear => self.shear_speed.as_ref().ok_or_else(|| Error::Conflict {
                field: field.to_owned(),
                found: format!("shear waves in {}", self.name),
                allowed: "wave = \"longitudinal\", or a stated sound speed".to_owned(),
            }),
        }
    }
}

impl Wave {
    pub(super) fn in_words(self) -> &'static str {
        match self {
            Wave::Shear => "shear wave",
            Wave::Longitudinal => "longitudinal wave",
        }
    }
}

/// The wave in the wall that the site is not set up for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct OtherWave {
    /// In words.
    pub(crate) words: &'static str,
    /// Its sound speed at about 20 degC, in m/s.
    pub(crate) sound_speed: f64,
}

/// Change with temperature, in m/s per K, of the sound speed of a wedge whose material nobody stated:
/// that of plastics, from the shear wave in PEEK to the longitudinal one in PMMA.
pub(crate) const WEDGE_SLOPE: Range = Range {
    estimate: -1.9,
    half_width: 1.1,
};

/// A wedge at another temperature than that of its sound speed has the usual slope of plastics.
fn usual_wedge_slope(
    basis: Basis,
    has: &impl Fn(Quantity) -> bool,
) -> Result<Option<(Quantity, Input)>> {
    let q = Quantity::WedgeSoundSpeedPerKelvin;
    if !has(Quantity::WedgeTemperature) || has(q) {
        return Ok(None);
    }
    let evidence = "range of plastics, shear wave in PEEK (measured, University of Warwick) to \
                    longitudinal wave in PMMA; state that of the wedge if it is known";
    Ok(Some((
        q,
        input_of(q, WEDGE_SLOPE, basis, evidence.to_owned())?,
    )))
}

/// A rectangular input between the limits of a range.
pub(super) fn input_of(q: Quantity, range: Range, basis: Basis, evidence: String) -> Result<Input> {
    let (path, dof) = (q.path(), f64::INFINITY);
    let input = if range.half_width > 0.0 {
        Input::with_half_width(
            &path,
            range.estimate,
            range.half_width,
            Shape::Rectangular,
            dof,
        )?
    } else {
        Input::exact(&path, range.estimate)?
    };
    let unit = match q.dimension() {
        length @ Dimension::Length => Unit::parse("mm", length, &path)?,
        other => other.si_unit(),
    };
    Ok(input
        .shown_in(unit)
        .in_component(q.component(basis).in_words())
        .evidence_in_words(evidence))
}

/// The evidence of a figure of a material.
pub(super) fn evidence_of(material: &Material, what: &str, figure: &Figure) -> String {
    let status = match figure.status {
        Status::Memory => " (not looked up)",
        Status::Seen | Status::Judged => "",
    };
    let what = if what.is_empty() {
        String::new()
    } else {
        format!(", {what}")
    };
    format!("{}{what}: {}{status}", material.name, figure.source)
}

impl Builder<'_> {
    /// Inputs from the standard of the pipe and from materials, for quantities that `stated` lacks.
    pub(super) fn tabulated_inputs(
        &self,
        basis: Basis,
        stated: &[(Quantity, Input)],
    ) -> Result<Vec<(Quantity, Input)>> {
        let has = |q: Quantity| stated.iter().any(|(other, _)| *other == q);
        let mut inputs = Vec::new();
        if let Some((dimensions, evidence)) = self.standard_dimensions()? {
            let diameter = has(Quantity::OutsideDiameter) || has(Quantity::OutsideCircumference);
            let dimensions = [
                (
                    Quantity::OutsideDiameter,
                    dimensions.outside_diameter,
                    diameter,
                ),
                (Quantity::Wall, dimensions.wall, has(Quantity::Wall)),
            ];
            for (q, range, measured) in dimensions {
                if !measured {
                    inputs.push((q, input_of(q, range, basis, evidence.clone())?));
                }
            }
        }
        inputs.extend(self.wall_material_inputs(basis, &has)?);
        if self.is_lined() && !has(Quantity::Roughness) {
            inputs.extend(self.roughness_of_lining(basis)?);
        }
        inputs.extend(usual_wedge_slope(basis, &has)?);
        let pipe = self.sections.pipe.get_ref();
        if let Some(name) = &pipe.liner_material
            && !has(Quantity::LinerSoundSpeed)
        {
            let q = Quantity::LinerSoundSpeed;
            let wave = pipe.liner_wave.as_ref().map(|w| *w.get_ref());
            inputs.push((q, self.speed_of_layer(q, name, wave, basis)?));
        }
        Ok(inputs)
    }

    /// The other wave in a wall whose material is stated. A stated sound speed is taken for that of the
    /// wave that it is nearer to.
    pub(super) fn other_wave(&self, stated: &[(Quantity, Input)]) -> Result<Option<OtherWave>> {
        let pipe = self.sections.pipe.get_ref();
        let Some(name) = &pipe.material else {
            return Ok(None);
        };
        let material = Material::named(name.get_ref()).map_err(|e| self.at(e, name))?;
        let Some(shear) = &material.shear_speed else {
            return Ok(None);
        };
        let speeds = [
            (Wave::Shear, shear.range.estimate),
            (
                Wave::Longitudinal,
                material.longitudinal_speed.range.estimate,
            ),
        ];
        let own = stated.iter().find(|(q, _)| *q == Quantity::WallSoundSpeed);
        let away = |speed: f64| own.map(|(_, input)| (input.estimate() - speed).abs());
        let other = speeds.into_iter().max_by(|a, b| {
            away(a.1)
                .unwrap_or(0.0)
                .total_cmp(&away(b.1).unwrap_or(0.0))
        });
        Ok(other
            .filter(|_| own.is_some())
            .map(|(wave, sound_speed)| OtherWave {
                words: wave.in_words(),
                sound_speed,
            }))
    }

    fn is_lined(&self) -> bool {
        let pipe = self.sections.pipe.get_ref();
        pipe.entry(Quantity::Liner).is_some() || self.innermost_layer().is_some()
    }

    /// The roughness of the innermost layer, which the liquid wets, from its material. Under an
    /// unknown lining the material of the wall says nothing of it.
    fn roughness_of_lining(&self, basis: Basis) -> Result<Option<(Quantity, Input)>> {
        let pipe = self.sections.pipe.get_ref();
        let wetted = match self.innermost_layer() {
            Some(layer) => layer.material.as_ref(),
            None => pipe.liner_material.as_ref(),
        };
        let q = Quantity::Roughness;
        match (wetted, &pipe.material) {
            (Some(name), _) => {
                let lining = Material::named(name.get_ref()).map_err(|e| self.at(e, name))?;
                let evidence = evidence_of(lining, "new", &lining.roughness);
                Ok(Some((
                    q,
                    input_of(q, lining.roughness.range, basis, evidence)?,
                )))
            }
            (None, Some(name)) => {
                let missing = Error::Missing {
                    field: q.path().into_owned(),
                    needed: "roughness of the surface that the liquid wets, or the material of \
                             the innermost layer; that of the wall says nothing of it"
                        .to_owned(),
                };
                Err(self.at(missing, name))
            }
            (None, None) => Ok(None),
        }
    }

    fn wall_material_inputs(
        &self,
        basis: Basis,
        has: &impl Fn(Quantity) -> bool,
    ) -> Result<Vec<(Quantity, Input)>> {
        let pipe = self.sections.pipe.get_ref();
        let Some(name) = &pipe.material else {
            return match &pipe.wave {
                None => Ok(Vec::new()),
                Some(wave) => Err(self.at(
                    Error::Conflict {
                        field: "pipe.wave".to_owned(),
                        found: "a wave without a material".to_owned(),
                        allowed: "wave with material; a stated wall_sound_speed is that of its \
                                  wave"
                            .to_owned(),
                    },
                    wave,
                )),
            };
        };
        let material = Material::named(name.get_ref()).map_err(|e| self.at(e, name))?;
        let wave = material.wave_or_usual(pipe.wave.as_ref().map(|w| *w.get_ref()));
        let words = wave.in_words();
        let speed = material
            .sound_speed(wave, "pipe.wave")
            .map_err(|e| self.at(e, name))?;
        let per_kelvin = match wave {
            Wave::Shear => &material.shear_speed_per_kelvin,
            Wave::Longitudinal => &material.longitudinal_speed_per_kelvin,
        };
        let own_speed = !has(Quantity::WallSoundSpeed);
        let warm = has(Quantity::WallTemperature) || self.liquid_has_temperature();
        let modulus = material.youngs_modulus();
        let pressed = has(Quantity::SurveyPressure);
        let figures = [
            (Quantity::WallSoundSpeed, words, Some(speed), true),
            // a stated sound speed is that of the pipe as it is
            (
                Quantity::WallSoundSpeedPerKelvin,
                words,
                per_kelvin.as_ref(),
                own_speed && warm,
            ),
            (
                Quantity::GaugeSoundSpeed,
                "longitudinal wave, to which a thickness gauge is set",
                Some(&material.longitudinal_speed),
                self.gauge_reads_layers(),
            ),
            (
                Quantity::Roughness,
                "new pipe",
                Some(&material.roughness),
                !self.is_lined(),
            ),
            (
                Quantity::Expansion,
                "thermal expansion",
                material.expansion.as_ref(),
                has(Quantity::SurveyTemperature),
            ),
            (
                Quantity::YoungsModulus,
                "Young's modulus",
                modulus.as_ref(),
                pressed,
            ),
            (
                Quantity::PoissonRatio,
                "Poisson's ratio",
                Some(&material.poisson_ratio),
                pressed,
            ),
        ];
        let wanted = figures
            .into_iter()
            .filter(|(q, _, _, wanted)| *wanted && !has(*q));
        wanted
            .filter_map(|(q, what, figure, _)| Some((q, what, figure?)))
            .map(|(q, what, figure)| {
                let evidence = evidence_of(material, what, figure);
                Ok((q, input_of(q, figure.range, basis, evidence)?))
            })
            .collect()
    }

    fn standard_dimensions(&self) -> Result<Option<(Dimensions, String)>> {
        let pipe = self.sections.pipe.get_ref();
        let Some(standard) = &pipe.standard else {
            let lone = [&pipe.size, &pipe.schedule].into_iter().flatten().next();
            return match lone {
                None => Ok(None),
                Some(text) => Err(self.at(
                    Error::Missing {
                        field: "pipe.standard".to_owned(),
                        needed: "the standard to which size and schedule belong".to_owned(),
                    },
                    text,
                )),
            };
        };
        let Some(size) = &pipe.size else {
            let missing = Error::Missing {
                field: "pipe.size".to_owned(),
                needed: "the nominal size in the standard, such as \"DN 150\"".to_owned(),
            };
            return Err(self.at(missing, standard));
        };
        let schedule = pipe.schedule.as_ref().map(|s| s.get_ref().as_str());
        let dimensions = Dimensions::of(standard.get_ref(), size.get_ref(), schedule)
            .map_err(|e| self.at(e, standard))?;
        let words = [
            Some(standard.get_ref().as_str()),
            Some(size.get_ref()),
            schedule,
        ];
        let evidence = words.into_iter().flatten().collect::<Vec<_>>().join(", ");
        Ok(Some((
            dimensions,
            format!("{evidence}: limits of manufacture"),
        )))
    }
}
