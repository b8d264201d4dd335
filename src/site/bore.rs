//! From what was surveyed outside to the bore in operation and the layers around it.

use super::values::{Layers, Terms, Values};
use super::{Choices, DiameterFrom, Quantity};
use crate::acoustics::{Layer, chord_length, offset_of_misplacement};
use crate::pipe::{self, Pressurised};
use crate::scalar::Scalar;

/// The pipe in operation.
pub(super) struct Bore<S> {
    /// Mean outside diameter, in m.
    pub(super) outside_diameter: S,
    /// Inside diameter of the circle of the same area, in m.
    pub(super) inside_diameter: S,
    /// Area, in m2.
    pub(super) area: S,
    /// Distance of the path from the axis, in m; `None` for a path through it.
    pub(super) chord_offset: Option<S>,
    /// Length across the bore of one traverse, in m.
    pub(super) chord: S,
    /// Sound speed of the wall, in m/s.
    pub(super) wall_sound_speed: S,
    /// The layers between wedge and liquid.
    pub(super) layers: Layers<S>,
}

impl<S: Scalar> Bore<S> {
    pub(super) fn of(choices: &Choices, terms: &Terms, values: &Values<S>) -> Bore<S> {
        let of = |q: Quantity| values.of(q);
        let wall_temperature = if terms.have(Quantity::WallTemperature) {
            of(Quantity::WallTemperature)
        } else {
            of(Quantity::Temperature)
        };
        let (mut diameter, wall) = in_operation(choices, terms, values, wall_temperature);
        let inner = values.layers.iter().map(|layer| layer.thickness);
        let lining = inner.fold(of(Quantity::Liner), |sum, e| sum + e);

        let oval = terms.have(Quantity::Ovality);
        let (inside_diameter, area, across) = if oval {
            let ovality = of(Quantity::Ovality);
            if choices.diameter_from == DiameterFrom::Circumference {
                diameter = pipe::mean_diameter_of_circle(diameter, ovality);
            }
            let half = ovality * 0.5;
            let inside = |outside: S| pipe::inside_diameter(outside, wall, lining);
            let largest = inside(diameter * (half + 1.0));
            let smallest = inside(diameter * (-half + 1.0));
            let (mean, reach) = ((largest + smallest) * 0.5, (largest - smallest) * 0.5);
            let across = mean + reach * of(Quantity::OvalityAlongPath);
            let round = (largest * smallest).sqrt();
            (round, pipe::ellipse_area(largest, smallest), across)
        } else {
            let inside = pipe::inside_diameter(diameter, wall, lining);
            (inside, pipe::area(inside), inside)
        };

        let off_centre = terms.have(Quantity::ChordOffset) || terms.have(Quantity::Misplacement);
        let (chord_offset, chord) = if off_centre {
            let misplaced = offset_of_misplacement(
                of(Quantity::Misplacement),
                diameter,
                inside_diameter,
                choices.traverses,
            );
            let offset = of(Quantity::ChordOffset) + misplaced;
            (Some(offset), chord_length(across, offset))
        } else {
            (None, across)
        };

        let wall_sound_speed = if terms.have(Quantity::WallSoundSpeedPerKelvin) {
            pipe::sound_speed_at(
                of(Quantity::WallSoundSpeed),
                of(Quantity::WallSoundSpeedPerKelvin),
                wall_temperature,
            )
        } else {
            of(Quantity::WallSoundSpeed)
        };
        let layer = |thickness: S, sound_speed: S| Layer {
            thickness,
            sound_speed,
        };
        let mut layers = Layers::new();
        if terms.have(Quantity::Couplant) {
            layers.push(layer(
                of(Quantity::Couplant),
                of(Quantity::CouplantSoundSpeed),
            ));
        }
        layers.push(layer(wall, wall_sound_speed));
        if terms.have(Quantity::Liner) {
            layers.push(layer(of(Quantity::Liner), of(Quantity::LinerSoundSpeed)));
        }
        layers.extend_from_slice(&values.layers);
        Bore {
            outside_diameter: diameter,
            inside_diameter,
            area,
            chord_offset,
            chord,
            wall_sound_speed,
            layers,
        }
    }
}

/// Outside diameter (of the circle of the circumference, or mean) and wall, in m, grown from
/// survey to operation.
fn in_operation<S: Scalar>(
    choices: &Choices,
    terms: &Terms,
    values: &Values<S>,
    wall_temperature: S,
) -> (S, S) {
    let of = |q: Quantity| values.of(q);
    let mut diameter = match choices.diameter_from {
        DiameterFrom::Circumference => {
            pipe::diameter_from_circumference(of(Quantity::OutsideCircumference))
        }
        DiameterFrom::Diameter => of(Quantity::OutsideDiameter),
    };
    let mut wall = of(Quantity::Wall);
    if terms.have(Quantity::SurveyTemperature) {
        let change = wall_temperature - of(Quantity::SurveyTemperature);
        let expansion = of(Quantity::Expansion);
        diameter = pipe::thermally_expanded(diameter, expansion, change);
        wall = pipe::thermally_expanded(wall, expansion, change);
    }
    if terms.have(Quantity::SurveyPressure) {
        let inside_diameter = diameter - wall * 2.0;
        let strain = Pressurised {
            outside_diameter: diameter,
            inside_diameter,
            pressure: of(Quantity::Pressure) - of(Quantity::SurveyPressure),
            youngs_modulus: of(Quantity::YoungsModulus),
            poisson_ratio: of(Quantity::PoissonRatio),
            ends: choices.ends,
        }
        .strain();
        diameter = diameter * (strain.outside + 1.0);
        wall = (diameter - inside_diameter * (strain.bore + 1.0)) * 0.5;
    }
    (diameter, wall)
}
