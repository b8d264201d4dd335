//! Refuses what a site file states without the other key that would give it an effect.

use super::builder::Builder;
use crate::error::{Error, Result};
use crate::model::{Choices, Quantity, Stating};
use crate::uncertainty::Input;
use toml::Spanned;

impl Builder<'_> {
    /// Refuses keys that would be read and then forgotten, for want of another one.
    pub(super) fn check_partners(
        &self,
        choices: &Choices,
        stated: &[(Quantity, Input)],
    ) -> Result<()> {
        let has = |q: Quantity| stated.iter().any(|(other, _)| *other == q);
        let stating = Stating { choices, has: &has };
        for (q, entry) in self.sections.stated() {
            if let Some(partner) = stating.lacking_beside(q) {
                return Err(self.without_effect(&q.path(), &partner.path(), entry));
            }
        }
        let pipe = self.sections.pipe.get_ref();
        let gauge = Quantity::GaugeSoundSpeed;
        if let Some(entry) = pipe.entry(gauge)
            && !self.gauge_reads_layers()
        {
            let partner = "measured_over = [\"wall\"] of a layer outside the wall";
            return Err(self.without_effect(&gauge.path(), partner, entry));
        }
        if let Some(ends) = &pipe.ends
            && !has(Quantity::SurveyPressure)
        {
            return Err(self.without_effect("pipe.ends", "pipe.survey_absolute_pressure", ends));
        }
        if let Some(material) = &pipe.liner_material
            && !has(Quantity::Liner)
        {
            return Err(self.without_effect("pipe.liner_material", "pipe.liner", material));
        }
        self.check_waves(&has)
    }

    /// A wave chooses among the sound speeds of a material, so it needs one, and a stated sound
    /// speed leaves it nothing to choose.
    fn check_waves(&self, has: &impl Fn(Quantity) -> bool) -> Result<()> {
        let pipe = self.sections.pipe.get_ref();
        if let Some(wave) = &pipe.wave
            && has(Quantity::WallSoundSpeed)
        {
            return Err(self.wave_of_stated("pipe.wave", "wall_sound_speed", wave));
        }
        if let Some(wave) = &pipe.liner_wave {
            if has(Quantity::LinerSoundSpeed) {
                return Err(self.wave_of_stated("pipe.liner_wave", "liner_sound_speed", wave));
            }
            if pipe.liner_material.is_none() {
                return Err(self.without_effect("pipe.liner_wave", "pipe.liner_material", wave));
            }
        }
        for (n, layer) in (1..).zip(&pipe.layer) {
            let layer = layer.get_ref();
            if let Some(wave) = &layer.wave
                && layer.sound_speed.is_some()
            {
                let field = format!("pipe.layer[{n}].wave");
                return Err(self.wave_of_stated(&field, "sound_speed", wave));
            }
        }
        Ok(())
    }

    /// What is stated without the partner that would give it an effect.
    pub(super) fn without_effect<T>(&self, field: &str, partner: &str, at: &Spanned<T>) -> Error {
        let conflict = Error::Conflict {
            field: field.to_owned(),
            found: format!("stated without {partner}, so that it would have no effect"),
            allowed: format!("{field} with {partner}"),
        };
        self.at(conflict, at)
    }

    fn wave_of_stated<T>(&self, field: &str, speed: &str, at: &Spanned<T>) -> Error {
        let conflict = Error::Conflict {
            field: field.to_owned(),
            found: format!("a wave beside a stated {speed}"),
            allowed: format!("one of the two; a stated {speed} is that of its wave"),
        };
        self.at(conflict, at)
    }
}
