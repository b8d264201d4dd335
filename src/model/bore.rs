//! From what was surveyed outside to the bore in operation and the layers around it.

use super::choices::OutsideLayer;
use super::layers::{LayerName, Layers};
use super::terms::{Terms, Values};
use super::{Choices, DiameterFrom, Quantity};
use crate::acoustics::{Layer, chord_length, offset_of_misplacement};
use crate::derivation::{Notes, Step};
use crate::pipe::{self, Ends, Pressurised};
use crate::scalar::Scalar;
use smallvec::SmallVec;

/// The pipe in operation.
pub(super) struct Bore<S> {
    /// Mean outside diameter of the wall, in m.
    pub(super) outside_diameter: S,
    /// Mean diameter over the layers on which the sensors sit, in m.
    pub(super) surface_diameter: S,
    /// Outside circumference where it was or would be measured, in m.
    pub(super) circumference: S,
    /// Inside diameter of the circle of the same area, in m.
    pub(super) inside_diameter: S,
    /// Wall at the survey, without layers on it, in m.
    pub(super) surveyed_wall: S,
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
    /// The symbols by which equations know it.
    pub(super) symbols: Symbols,
}

/// Symbols of what is corrected in some sites and in others not.
#[derive(Debug, Clone, Copy)]
pub(super) struct Symbols {
    /// Of the outside diameter.
    diameter: &'static str,
    /// Of the diameter on which the sensors sit.
    surface: &'static str,
    /// Of the wall.
    pub(super) wall: &'static str,
    /// Of the length across the bore.
    pub(super) chord: &'static str,
    /// Of the sound speed of the wall.
    pub(super) wall_sound_speed: &'static str,
}

impl<S: Scalar> Bore<S> {
    /// The pipe in operation, with the steps that lead to it.
    pub(super) fn of(
        choices: &Choices,
        terms: &Terms,
        values: &Values<S>,
        notes: &mut impl Notes<S>,
    ) -> Bore<S> {
        let of = |q: Quantity| values.of(q);
        let (wall_temperature, wall_temperature_symbol) = if terms.have(Quantity::WallTemperature) {
            (of(Quantity::WallTemperature), "T_p")
        } else {
            (of(Quantity::Temperature), "T")
        };
        let mut symbols = Symbols {
            diameter: "d",
            surface: "d",
            wall: "e",
            chord: "D",
            wall_sound_speed: "c_p",
        };
        let (mut diameter, wall, surveyed_wall) = in_operation(
            choices,
            terms,
            values,
            (wall_temperature, wall_temperature_symbol),
            &mut symbols,
            notes,
        );
        let linings = || LayerName::of(choices, terms).filter(|name| name.is_lining());
        let lining = linings()
            .map(|name| of(name.thickness()))
            .fold(S::constant(0.0), |sum, e| sum + e);
        // the wall and what lines it, as equations have them
        let walls = || {
            let lining = linings().map(|name| name.thickness().symbol().into_owned());
            let all: Vec<String> = std::iter::once(symbols.wall.to_owned())
                .chain(lining)
                .collect();
            match all.as_slice() {
                [one] => one.clone(),
                several => format!("({})", several.join(" + ")),
            }
        };

        let twice = |holds: fn(&OutsideLayer) -> bool| {
            LayerName::outside(choices, holds).fold(S::constant(0.0), |sum, name| {
                sum + of(name.thickness()) * 2.0
            })
        };
        let over = twice(|layer| layer.in_outside_dimension);
        let mut circumference = pipe::circumference_of_diameter(diameter + over);
        let oval = terms.have(Quantity::Ovality);
        let (inside_diameter, area, across) = if oval {
            let ovality = of(Quantity::Ovality);
            if choices.diameter_from == DiameterFrom::Circumference {
                diameter = pipe::mean_diameter_of_circle(diameter, ovality);
                let d = symbols.diameter;
                symbols.diameter = "d_m";
                notes.note(|| {
                    let words = "mean of largest and smallest outside diameter of the oval";
                    let equation = format!("ellipse_mean_diameter({d}, o)");
                    Step::new("d_m", words, equation, diameter, "m")
                        .from("perimeter of an ellipse, series of Gauss and Kummer")
                });
            }
            let half = ovality * 0.5;
            if choices.diameter_from == DiameterFrom::Diameter {
                let over_layers = |part: S| diameter * part + over;
                let (largest, smallest) = (over_layers(half + 1.0), over_layers(-half + 1.0));
                circumference = pipe::ellipse_perimeter(largest, smallest);
            }
            let inside = |outside: S| pipe::inside_diameter(outside, wall, lining);
            let largest = inside(diameter * (half + 1.0));
            let smallest = inside(diameter * (-half + 1.0));
            let (mean, reach) = ((largest + smallest) * 0.5, (largest - smallest) * 0.5);
            let across = mean + reach * of(Quantity::OvalityAlongPath);
            let round = (largest * smallest).sqrt();
            let area = pipe::ellipse_area(largest, smallest);
            let d = symbols.diameter;
            symbols.chord = "D_c";
            notes.note(|| {
                let equation = format!("{d}*(1 + o/2) - 2*{}", walls());
                Step::new("D_1", "largest inside diameter", equation, largest, "m").from(GEOMETRY)
            });
            notes.note(|| {
                let equation = format!("{d}*(1 - o/2) - 2*{}", walls());
                Step::new("D_2", "smallest inside diameter", equation, smallest, "m").from(GEOMETRY)
            });
            notes.note(|| {
                let words = "inside diameter of the circle of the same area";
                Step::new("D", words, "sqrt(D_1*D_2)", round, "m").from(GEOMETRY)
            });
            notes.note(|| {
                let words = "area of the bore";
                Step::new("A", words, "pi/4*D_1*D_2", area, "m2").from(GEOMETRY)
            });
            notes.note(|| {
                let words = "inside diameter along the path";
                let equation = "(D_1 + D_2)/2 + (D_1 - D_2)/2*o_c";
                Step::new("D_c", words, equation, across, "m").from(GEOMETRY)
            });
            (round, area, across)
        } else {
            let inside = pipe::inside_diameter(diameter, wall, lining);
            let area = pipe::area(inside);
            notes.note(|| {
                let equation = format!("{} - 2*{}", symbols.diameter, walls());
                Step::new("D", "inside diameter", equation, inside, "m").from(GEOMETRY)
            });
            notes
                .note(|| Step::new("A", "area of the bore", "pi/4*D^2", area, "m2").from(GEOMETRY));
            (inside, area, inside)
        };

        let under = |layer: &OutsideLayer| layer.under_sensors;
        let surface_diameter = diameter + twice(under);
        symbols.surface = symbols.diameter;
        let off_centre = terms.have(Quantity::ChordOffset) || terms.have(Quantity::Misplacement);
        let (chord_offset, chord) = if off_centre {
            let misplaced = offset_of_misplacement(
                of(Quantity::Misplacement),
                surface_diameter,
                inside_diameter,
                choices.traverses,
            );
            let offset = of(Quantity::ChordOffset) + misplaced;
            let chord = chord_length(across, offset);
            let left = LayerName::outside(choices, under).map(|name| name.thickness().symbol());
            let left: Vec<_> = left.collect();
            if !left.is_empty() {
                symbols.surface = "d_s";
                notes.note(|| {
                    let equation = format!("{} + 2*({})", symbols.diameter, left.join(" + "));
                    let words = "diameter on which the sensors sit";
                    Step::new("d_s", words, equation, surface_diameter, "m").from(GEOMETRY)
                });
            }
            let whole = symbols.chord;
            symbols.chord = "H";
            notes.note(|| {
                let (d, n) = (symbols.surface, choices.traverses);
                let equation = format!("h_0 + D/2*sin(m/{d}/{n})");
                Step::new(
                    "h",
                    "distance of the path from the axis",
                    equation,
                    offset,
                    "m",
                )
                .from(GEOMETRY)
            });
            notes.note(|| {
                let equation = format!("{whole}*sqrt(1 - (2*h/{whole})^2)");
                Step::new(
                    "H",
                    "length across the bore of one traverse",
                    equation,
                    chord,
                    "m",
                )
                .from(GEOMETRY)
            });
            (Some(offset), chord)
        } else {
            (None, across)
        };

        let wall_sound_speed = if terms.have(Quantity::WallSoundSpeedPerKelvin) {
            let speed = pipe::sound_speed_at(
                of(Quantity::WallSoundSpeed),
                of(Quantity::WallSoundSpeedPerKelvin),
                wall_temperature,
            );
            symbols.wall_sound_speed = "c_pT";
            notes.note(|| {
                let words = "sound speed of the wall in operation";
                let equation = format!("c_p + g_p*({wall_temperature_symbol} - 293.15)");
                Step::new("c_pT", words, equation, speed, "m/s")
            });
            speed
        } else {
            of(Quantity::WallSoundSpeed)
        };
        let in_operation = Layer {
            thickness: wall,
            sound_speed: wall_sound_speed,
        };
        let layers = LayerName::of(choices, terms)
            .map(|name| name.layer(values, in_operation))
            .collect();
        Bore {
            outside_diameter: diameter,
            surface_diameter,
            circumference,
            inside_diameter,
            surveyed_wall,
            area,
            chord_offset,
            chord,
            wall_sound_speed,
            layers,
            symbols,
        }
    }
}

/// The source of what follows from the shape alone.
const GEOMETRY: &str = "plane geometry";

/// Outside diameter (of the circle of the circumference, or mean) and wall, in m, grown from
/// survey to operation, and the wall at the survey.
fn in_operation<S: Scalar>(
    choices: &Choices,
    terms: &Terms,
    values: &Values<S>,
    (wall_temperature, temperature): (S, &str),
    symbols: &mut Symbols,
    notes: &mut impl Notes<S>,
) -> (S, S, S) {
    let of = |q: Quantity| values.of(q);
    let mut diameter = match choices.diameter_from {
        DiameterFrom::Circumference => {
            let diameter = pipe::diameter_from_circumference(of(Quantity::OutsideCircumference));
            notes.note(|| Step::new("d", "outside diameter", "C/pi", diameter, "m").from(GEOMETRY));
            diameter
        }
        DiameterFrom::Diameter => of(Quantity::OutsideDiameter),
    };
    let mut wall = of(Quantity::Wall);
    (diameter, wall) = without_layers(choices, values, (diameter, wall), symbols, notes);
    let surveyed = wall;
    if terms.have(Quantity::SurveyTemperature) {
        let change = wall_temperature - of(Quantity::SurveyTemperature);
        let expansion = of(Quantity::Expansion);
        diameter = pipe::thermally_expanded(diameter, expansion, change);
        wall = pipe::thermally_expanded(wall, expansion, change);
        let source = "definition of thermal expansion; JCGM 100:2008, H.1";
        for (symbol, of, words, value) in [
            (
                "d_T",
                symbols.diameter,
                "outside diameter, thermally expanded",
                diameter,
            ),
            ("e_T", symbols.wall, "wall, thermally expanded", wall),
        ] {
            notes.note(|| {
                let equation = format!("{of}*(1 + alpha*({temperature} - T_s))");
                Step::new(symbol, words, equation, value, "m").from(source)
            });
        }
        (symbols.diameter, symbols.wall) = ("d_T", "e_T");
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
        diameter *= strain.outside + 1.0;
        wall = (diameter - inside_diameter * (strain.bore + 1.0)) * 0.5;
        note_strain(
            choices.ends,
            symbols,
            [inside_diameter, strain.outside, strain.bore, diameter, wall],
            notes,
        );
        (symbols.diameter, symbols.wall) = ("d_p", "e_p");
    }
    (diameter, wall, surveyed)
}

/// Outside diameter and wall alone, from what was measured over layers outside the wall. A gauge
/// counts the time in a layer as wall, at the sound speed that it is set to.
fn without_layers<S: Scalar>(
    choices: &Choices,
    values: &Values<S>,
    (mut diameter, mut wall): (S, S),
    symbols: &mut Symbols,
    notes: &mut impl Notes<S>,
) -> (S, S) {
    let thickness = |name: &LayerName| values.of(name.thickness());
    let symbols_of = |name: &LayerName| (name.thickness().symbol(), name.sound_speed().symbol());
    let measured_over: Layered = LayerName::outside(choices, |l| l.in_outside_dimension).collect();
    if !measured_over.is_empty() {
        for name in &measured_over {
            diameter -= thickness(name) * 2.0;
        }
        notes.note(|| {
            let layers: Vec<_> = measured_over
                .iter()
                .map(|name| symbols_of(name).0)
                .collect();
            let equation = format!("{} - 2*({})", symbols.diameter, layers.join(" + "));
            let words = "outside diameter of the wall, without the layers on it";
            Step::new("d_w", words, equation, diameter, "m").from(GEOMETRY)
        });
        symbols.diameter = "d_w";
    }
    let measured_through: Layered = LayerName::outside(choices, |l| l.in_wall_reading).collect();
    if !measured_through.is_empty() {
        let set = values.of(Quantity::GaugeSoundSpeed);
        for name in &measured_through {
            wall -= set * thickness(name) / values.of(name.sound_speed());
        }
        notes.note(|| {
            let ratio = |name| {
                let (e, c) = symbols_of(name);
                format!("{e}/{c}")
            };
            let times: Vec<String> = measured_through.iter().map(ratio).collect();
            let equation = format!("{} - c_g*({})", symbols.wall, times.join(" + "));
            let words = "wall alone, without what the gauge took for wall";
            Step::new("e_w", words, equation, wall, "m").from("pulse and echo")
        });
        symbols.wall = "e_w";
    }
    (diameter, wall)
}

type Layered = SmallVec<[LayerName; 4]>;

/// The steps from the bore without pressure over both strains to diameter and wall under pressure.
fn note_strain<S: Scalar, N: Notes<S>>(
    ends: Ends,
    symbols: &Symbols,
    [bore, outside_strain, bore_strain, diameter, wall]: [S; 5],
    notes: &mut N,
) {
    if !N::TAKEN {
        return;
    }
    let (d, e) = (symbols.diameter, symbols.wall);
    let axial = match ends {
        Ends::Open => "0",
        Ends::Closed => "q",
        Ends::Anchored => "2*mu*q",
    };
    let lame = "Lame's solution of the thick-walled cylinder";
    let mut step =
        |symbol: &'static str, words: &'static str, equation: &str, value, unit, source| {
            // q is short for the stress that pressure causes
            let stress = format!("((p - p_s)*B^2/({d}^2 - B^2))");
            let equation = equation.replace('q', &stress);
            notes.note(|| Step::new(symbol, words, equation, value, unit).from(source));
        };
    let words = "inside diameter of the wall without pressure";
    step("B", words, &format!("{d} - 2*{e}"), bore, "m", GEOMETRY);
    let words = "relative growth of the outside diameter under pressure";
    let equation = format!("(2*q - mu*{axial})/E");
    step("S_o", words, &equation, outside_strain, "1", lame);
    let words = "relative growth of the inside diameter under pressure";
    let equation = format!("((1 - mu)*q + (1 + mu)*q*{d}^2/B^2 - mu*{axial})/E");
    step("S_i", words, &equation, bore_strain, "1", lame);
    let words = "outside diameter under pressure";
    step("d_p", words, &format!("{d}*(1 + S_o)"), diameter, "m", lame);
    step(
        "e_p",
        "wall under pressure",
        "(d_p - B*(1 + S_i))/2",
        wall,
        "m",
        GEOMETRY,
    );
}
