//! What a site must state, and what it has no use for.

use super::{AngleFrom, Basis, Choices, LiquidModel, Quantity};
use crate::liquid::Liquid;

/// What a site chooses and states, as far as it decides what else it must state.
pub(crate) struct Stating<'a> {
    pub(crate) choices: &'a Choices,
    /// Whether the site states a quantity.
    pub(crate) has: &'a dyn Fn(Quantity) -> bool,
}

impl Stating<'_> {
    pub(super) fn has(&self, q: Quantity) -> bool {
        (self.has)(q)
    }

    /// Whether the meter tells times, and not what it made of them.
    pub(super) fn times(&self) -> bool {
        self.choices.basis != Basis::Indicated
    }

    /// Whether layers were programmed into the meter, which those of the site put right.
    pub(super) fn layers_programmed(&self) -> bool {
        self.choices.programmed.is_some_and(|p| p.has_layers())
    }

    /// Whether the thickness gauge measured through a layer outside the wall.
    pub(super) fn gauge_reads_layers(&self) -> bool {
        let mut outside = self.choices.layers.iter().filter_map(|l| l.outside);
        outside.any(|layer| layer.in_wall_reading)
    }

    pub(super) fn ray_from_wedge(&self) -> bool {
        self.choices.needs_path() && self.choices.angle_from == AngleFrom::Wedge
    }

    pub(super) fn ray_from_spacing(&self) -> bool {
        self.choices.needs_path() && self.choices.angle_from == AngleFrom::Spacing
    }

    /// The liquid whose properties are computed.
    pub(super) fn liquid(&self) -> Option<&Liquid> {
        match &self.choices.liquid {
            LiquidModel::Computed(liquid) => Some(liquid),
            LiquidModel::Stated => None,
        }
    }

    pub(super) fn sound_speed_computed(&self) -> bool {
        self.liquid().is_some_and(Liquid::has_sound_speed)
    }

    pub(super) fn sea_water(&self) -> bool {
        self.liquid() == Some(&Liquid::SeaWater)
    }

    pub(super) fn glycol(&self) -> bool {
        matches!(self.liquid(), Some(Liquid::Glycol(_)))
    }

    pub(super) fn wall_changes_with_temperature(&self) -> bool {
        self.has(Quantity::SurveyTemperature) || self.has(Quantity::WallSoundSpeedPerKelvin)
    }

    /// What the site file must state of a quantity, if it must.
    pub(crate) fn needs(&self, q: Quantity) -> Option<&'static str> {
        let needs = q.row().needs.iter().flatten();
        needs
            .filter(|need| (need.when)(self))
            .map(|need| need.what)
            .next()
    }

    /// Whether a quantity has a place with the liquid of the site.
    pub(crate) fn liquid_uses(&self, q: Quantity) -> bool {
        q.row().of_liquids.is_none_or(|used| used(self))
    }

    /// The quantity without which a stated one would have no effect, if the site lacks it.
    pub(crate) fn lacking_beside(&self, q: Quantity) -> Option<Quantity> {
        q.row().beside.filter(|other| !self.has(*other))
    }
}

impl Choices {
    /// Whether the sound path of the sensors must be known.
    pub(super) fn needs_path(&self) -> bool {
        // a meter that was told of other sensors must be put right by those it has
        self.basis != Basis::Indicated || self.programmed.is_some_and(|p| p.needs_path())
    }

    /// The first quantity without which there is no sound path, and what is needed.
    pub(super) fn path_lacks(
        &self,
        has: &impl Fn(Quantity) -> bool,
    ) -> Option<(Quantity, &'static str)> {
        let with_path = Choices {
            basis: Basis::Geometric,
            ..self.clone()
        };
        let stating = Stating {
            choices: &with_path,
            has,
        };
        let mut lacking = Quantity::ALL.iter().filter(|q| !has(**q));
        lacking.find_map(|q| Some((*q, stating.needs(*q)?)))
    }
}
