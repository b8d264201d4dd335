//! The layers between wedge and liquid, from outside to inside, each by name.

use super::terms::{Terms, Values};
use super::{Choices, Quantity};
use crate::acoustics::Layer;
use crate::scalar::Scalar;
use smallvec::SmallVec;

/// A layer that the ray crosses on both sides.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum LayerName {
    Couplant,
    Wall,
    Liner,
    /// A further layer, counted from 0 and from outside to inside.
    Further(u16),
}

/// The layers that a path crosses on one side. Few pipes have more than four.
pub(super) type Layers<S> = SmallVec<[Layer<S>; 4]>;

impl LayerName {
    /// The layers of a site, from outside to inside.
    pub(super) fn of(choices: &Choices, terms: &Terms) -> impl Iterator<Item = LayerName> {
        let couplant = terms
            .have(Quantity::Couplant)
            .then_some(LayerName::Couplant);
        let liner = terms.have(Quantity::Liner).then_some(LayerName::Liner);
        let further = (0..choices.layers).map(LayerName::Further);
        couplant
            .into_iter()
            .chain([LayerName::Wall])
            .chain(liner)
            .chain(further)
    }

    /// Whether it lies inside the wall, so that it narrows the bore.
    pub(super) fn is_lining(self) -> bool {
        matches!(self, LayerName::Liner | LayerName::Further(_))
    }

    pub(super) fn thickness(self) -> Quantity {
        match self {
            LayerName::Couplant => Quantity::Couplant,
            LayerName::Wall => Quantity::Wall,
            LayerName::Liner => Quantity::Liner,
            LayerName::Further(n) => Quantity::LayerThickness(n),
        }
    }

    pub(super) fn sound_speed(self) -> Quantity {
        match self {
            LayerName::Couplant => Quantity::CouplantSoundSpeed,
            LayerName::Wall => Quantity::WallSoundSpeed,
            LayerName::Liner => Quantity::LinerSoundSpeed,
            LayerName::Further(n) => Quantity::LayerSoundSpeed(n),
        }
    }

    /// What people call it.
    pub(super) fn in_words(self) -> String {
        match self {
            LayerName::Couplant => "couplant".to_owned(),
            LayerName::Wall => "wall".to_owned(),
            LayerName::Liner => "liner".to_owned(),
            LayerName::Further(n) => format!("layer {}", n + 1),
        }
    }

    /// The layer with what is stated of it; `wall` is that in operation.
    pub(super) fn layer<S: Scalar>(self, values: &Values<S>, wall: Layer<S>) -> Layer<S> {
        match self {
            LayerName::Wall => wall,
            other => Layer {
                thickness: values.of(other.thickness()),
                sound_speed: values.of(other.sound_speed()),
            },
        }
    }
}
