//! The further layers of a pipe: what lies on the wall, and what lines it.

use super::builder::Builder;
use super::file::{LayerSection, MeasuredOver, Side, Wave};
use super::standards_and_materials::{evidence_of, input_of};
use crate::error::{Error, Result};
use crate::message::{Told, message};
use crate::model::{Basis, FurtherLayer, OutsideLayer, Quantity};
use crate::pipe::Material;
use crate::uncertainty::Input;
use toml::Spanned;

/// More layers than any pipe has; keeps the correlation matrix of a hostile file small.
const MOST_LAYERS: usize = 100;

impl LayerSection {
    fn is_outside(&self) -> bool {
        self.side
            .as_ref()
            .is_some_and(|side| *side.get_ref() == Side::Outside)
    }

    fn is_measured_over(&self, dimension: MeasuredOver) -> bool {
        let over = self.measured_over.as_ref();
        over.is_some_and(|over| over.get_ref().contains(&dimension))
    }

    /// Whether sound passes it, of the meter or of the thickness gauge.
    fn is_crossed(&self) -> bool {
        let removed = self
            .under_sensors
            .as_ref()
            .is_some_and(|left| !left.get_ref());
        !self.is_outside() || !removed || self.is_measured_over(MeasuredOver::Wall)
    }
}

impl Builder<'_> {
    /// The further layers, from outside to inside.
    pub(super) fn layers(&self) -> Result<Vec<FurtherLayer>> {
        let stated = &self.sections.pipe.get_ref().layer;
        if stated.len() > MOST_LAYERS {
            return Err(Error::Length {
                field: "pipe.layer".to_owned(),
                found: stated.len(),
                allowed: format!("{MOST_LAYERS} at most"),
            });
        }
        let numbered = (1..).zip(stated);
        numbered
            .map(|(n, section)| self.layer(n, section))
            .collect()
    }

    fn layer(&self, n: usize, section: &Spanned<LayerSection>) -> Result<FurtherLayer> {
        let layer = section.get_ref();
        let field = |key: &str| format!("pipe.layer[{n}].{key}");
        let outside = if layer.is_outside() {
            let Some(over) = &layer.measured_over else {
                let missing = Error::Missing {
                    field: field("measured_over"),
                    needed: "what was measured over the layer: [\"outside_dimension\", \"wall\"], one of \
                             the two, or [] where both were measured on the wall alone (a gauge that \
                             times from echo to echo reads the wall alone)"
                        .to_owned(),
                };
                return Err(self.at(missing, section));
            };
            let pipe = self.sections.pipe.get_ref();
            let measured = [
                (
                    MeasuredOver::OutsideDimension,
                    [Quantity::OutsideCircumference, Quantity::OutsideDiameter].as_slice(),
                ),
                (MeasuredOver::Wall, &[Quantity::Wall]),
            ];
            for (dimension, quantities) in measured {
                let own = quantities.iter().any(|q| pipe.entry(*q).is_some());
                if layer.is_measured_over(dimension) && !own {
                    let conflict = Error::Conflict {
                        field: field("measured_over"),
                        found: "a dimension that is not stated but taken from the standard"
                            .to_owned(),
                        allowed:
                            "what was measured: outside_circumference, outside_diameter or wall \
                                  in [pipe]"
                                .to_owned(),
                    };
                    return Err(self.at(conflict, over));
                }
            }
            Some(OutsideLayer {
                in_outside_dimension: layer.is_measured_over(MeasuredOver::OutsideDimension),
                in_wall_reading: layer.is_measured_over(MeasuredOver::Wall),
                under_sensors: layer
                    .under_sensors
                    .as_ref()
                    .is_none_or(|left| *left.get_ref()),
            })
        } else {
            let outside = "side = \"outside\"";
            if let Some(over) = &layer.measured_over {
                return Err(self.without_effect(&field("measured_over"), outside, over));
            }
            if let Some(left) = &layer.under_sensors {
                return Err(self.without_effect(&field("under_sensors"), outside, left));
            }
            None
        };
        let name = if layer.name.trim().is_empty() {
            format!("layer {n}")
        } else {
            layer.name.trim().to_owned()
        };
        Ok(FurtherLayer { name, outside })
    }

    /// Whether the thickness gauge measured through a layer.
    pub(super) fn gauge_reads_layers(&self) -> bool {
        let layers = self.sections.pipe.get_ref().layer.iter();
        let mut through = layers.map(|l| l.get_ref().is_measured_over(MeasuredOver::Wall));
        through.any(|through| through)
    }

    /// The layer that the liquid wets, if it is none of wall and liner.
    pub(super) fn innermost_layer(&self) -> Option<&LayerSection> {
        let layers = self.sections.pipe.get_ref().layer.iter();
        layers
            .map(Spanned::get_ref)
            .rfind(|layer| !layer.is_outside())
    }

    /// The inputs of the further layers.
    pub(super) fn layer_inputs(&self, basis: Basis) -> Result<Vec<(Quantity, Input)>> {
        let mut inputs = Vec::new();
        for (section, n) in self.sections.pipe.get_ref().layer.iter().zip(0..) {
            let layer = section.get_ref();
            let mut own =
                self.entry_inputs(Quantity::LayerThickness(n), &layer.thickness, basis)?;
            let q = Quantity::LayerSoundSpeed(n);
            match (&layer.sound_speed, &layer.material) {
                (Some(entry), _) if !layer.is_crossed() => {
                    let found = "no sound passes the layer: it was removed under the sensors, and the \
                                 gauge did not measure through it";
                    let conflict = Error::Conflict {
                        field: q.path().into_owned(),
                        found: format!("stated, though {found}"),
                        allowed: "none".to_owned(),
                    };
                    return Err(self.at(conflict, entry));
                }
                (Some(entry), _) => own.extend(self.entry_inputs(q, entry, basis)?),
                (None, _) if !layer.is_crossed() => {}
                (None, Some(name)) => {
                    let wave = layer.wave.as_ref().map(|w| *w.get_ref());
                    own.push((q, self.speed_of_layer(q, name, wave, basis)?));
                }
                (None, None) => {
                    let missing = Error::Missing {
                        field: q.path().into_owned(),
                        needed: "sound speed of the wave in the layer, or a material".to_owned(),
                    };
                    return Err(self.at(missing, section));
                }
            }
            let name = layer.name.trim();
            inputs.extend(own.into_iter().map(|(q, input)| {
                let evidence = input.evidence();
                match (name, evidence) {
                    ("", _) => (q, input),
                    (name, own) if own.starts_with(name) => (q, input),
                    (name, "") => (q, input.evidence_in_words(name)),
                    (name, _) => {
                        let words = message!(
                            "evidence.layer",
                            "{layer}: {evidence}",
                            layer = Told::Theirs(name.to_owned()),
                            evidence = input.evidence_told()
                        );
                        (q, input.evidence_in_message(words))
                    }
                }
            }));
        }
        Ok(inputs)
    }

    pub(super) fn speed_of_layer(
        &self,
        q: Quantity,
        name: &Spanned<String>,
        wave: Option<Wave>,
        basis: Basis,
    ) -> Result<Input> {
        // what lines a pipe is slow and soft, or so rough that shear waves are scattered
        let wave = wave.unwrap_or(Wave::Longitudinal);
        let material = Material::named(name.get_ref()).map_err(|e| self.at(e, name))?;
        let speed = material
            .sound_speed(wave, &q.path())
            .map_err(|e| self.at(e, name))?;
        let evidence = evidence_of(material, wave.in_words(), speed);
        input_of(q, speed.range, basis, evidence)
    }
}
