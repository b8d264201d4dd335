//! What a site must state, what it has no use for, and what no site can have: in words.

use super::bore::Bore;
use super::values::Values;
use super::{AngleFrom, Basis, Choices, Intermediates, LiquidModel, Quantity, SiteModel};
use crate::acoustics::{Geometry, NamedLayer, check_layers, check_refraction};
use crate::error::{Error, Result};
use crate::liquid::{Liquid, State};
use crate::pipe::Pressurised;
use crate::profile;
use crate::scalar::Scalar;

/// Quantities that have an effect only beside another one.
const PARTNERS: [(Quantity, Quantity); 10] = [
    (Quantity::Expansion, Quantity::SurveyTemperature),
    (Quantity::YoungsModulus, Quantity::SurveyPressure),
    (Quantity::PoissonRatio, Quantity::SurveyPressure),
    (Quantity::OvalityAlongPath, Quantity::Ovality),
    (Quantity::LinerSoundSpeed, Quantity::Liner),
    (Quantity::CouplantSoundSpeed, Quantity::Couplant),
    (Quantity::CableDelayPerLength, Quantity::CableLength),
    (
        Quantity::WedgeSoundSpeedPerKelvin,
        Quantity::WedgeTemperature,
    ),
    (
        Quantity::WedgeReferenceTemperature,
        Quantity::WedgeTemperature,
    ),
    (
        Quantity::WedgeTemperature,
        Quantity::WedgeSoundSpeedPerKelvin,
    ),
];

/// The quantity without which a stated one would have no effect, if `has` does not tell that the
/// site states it.
pub(super) fn lacking_partner(q: Quantity, has: &impl Fn(Quantity) -> bool) -> Option<Quantity> {
    let own = PARTNERS.iter().filter(|(one, _)| *one == q);
    own.map(|(_, partner)| *partner)
        .find(|partner| !has(*partner))
}

impl Choices {
    /// Whether the sound path of the sensors must be known.
    fn needs_path(&self) -> bool {
        // a meter that was told of other sensors must be put right by those it has
        self.basis != Basis::Indicated
            || self.programmed.is_some_and(|p| p.axial_slowness.is_some())
    }

    fn computed(&self) -> Option<&Liquid> {
        match &self.liquid {
            LiquidModel::Computed(liquid) => Some(liquid),
            LiquidModel::Stated => None,
        }
    }

    /// The first quantity without which there is no sound path, and what is needed. `has` tells
    /// what the site states.
    fn path_lacks(&self, has: &impl Fn(Quantity) -> bool) -> Option<(Quantity, &'static str)> {
        let with_path = Choices {
            basis: Basis::Geometric,
            ..self.clone()
        };
        let mut lacking = Quantity::ALL.iter().filter(|q| !has(**q));
        lacking.find_map(|q| Some((*q, with_path.needs(*q, has)?)))
    }

    /// What a site file must state of a quantity, if it must. `has` tells what it states.
    pub(super) fn needs(
        &self,
        q: Quantity,
        has: &impl Fn(Quantity) -> bool,
    ) -> Option<&'static str> {
        let times = self.basis != Basis::Indicated;
        let path = self.needs_path();
        let wedge = path && self.angle_from == AngleFrom::Wedge;
        let spacing = path && self.angle_from == AngleFrom::Spacing;
        let liquid = self.computed();
        let grows = has(Quantity::SurveyTemperature) || has(Quantity::WallSoundSpeedPerKelvin);
        match q {
            Quantity::Wall => Some("wall thickness, as text with a unit or a table"),
            Quantity::WallSoundSpeed if times || spacing => {
                Some("sound speed of the wave in the wall, or a material")
            }
            Quantity::LinerSoundSpeed if (times || spacing) && has(Quantity::Liner) => {
                Some("sound speed of the wave in the liner, or a liner_material")
            }
            Quantity::WedgeAngle if wedge => Some("angle of the ray in the wedge"),
            Quantity::WedgeSoundSpeed if wedge => Some("sound speed of the wedge"),
            Quantity::Spacing if spacing => {
                Some("spacing of the exit points, for angle_from = \"spacing\"")
            }
            Quantity::Pressure if liquid.is_some_and(Liquid::needs_pressure) => {
                Some("absolute pressure of the liquid")
            }
            Quantity::Pressure if has(Quantity::SurveyPressure) => {
                Some("absolute pressure of the liquid, for the expansion since the survey")
            }
            Quantity::Salinity if liquid == Some(&Liquid::SeaWater) => {
                Some("absolute salinity of the sea water")
            }
            Quantity::MassFraction if matches!(liquid, Some(Liquid::Glycol(_))) => {
                Some("mass of glycol in mass of solution")
            }
            Quantity::KinematicViscosity if liquid.is_none() => {
                Some("kinematic viscosity of the liquid")
            }
            Quantity::LiquidSoundSpeed if !liquid.is_some_and(Liquid::has_sound_speed) => Some(
                "sound speed of the liquid; none is computed for it, so measure it or take it \
                 from its data sheet at the temperature of operation",
            ),
            Quantity::WallTemperature if grows && liquid.is_none() => {
                Some("temperature of the wall in operation")
            }
            Quantity::Expansion if has(Quantity::SurveyTemperature) => {
                Some("coefficient of thermal expansion of the wall, or a material")
            }
            Quantity::YoungsModulus if has(Quantity::SurveyPressure) => {
                Some("Young's modulus of the wall, or a material")
            }
            _ => None,
        }
    }

    /// Why a quantity has no place in a site that chooses as this one does, if it has none.
    pub(super) fn no_use_for(&self, q: Quantity) -> Option<&'static str> {
        let liquid = self.computed();
        let from_state = "only where the properties of the liquid are computed or stated that way";
        let unused = match q {
            Quantity::Salinity => liquid != Some(&Liquid::SeaWater),
            Quantity::MassFraction => !matches!(liquid, Some(Liquid::Glycol(_))),
            Quantity::KinematicViscosity => liquid.is_some(),
            Quantity::LiquidSoundSpeed => liquid.is_some_and(Liquid::has_sound_speed),
            Quantity::SoundSpeedFactor => !liquid.is_some_and(Liquid::has_sound_speed),
            Quantity::DensityFactor | Quantity::ViscosityFactor => liquid.is_none(),
            _ => false,
        };
        unused.then_some(from_state)
    }
}

/// Number of steps in [`Judged`].
pub(crate) const JUDGED: usize = 7;

/// Steps that may differ from row to row and decide whether a row can be.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Judged<S> {
    inside_diameter: S,
    chord_offset: S,
    liquid_sound_speed: S,
    largest_sine: S,
    dead_time: S,
    pub(crate) reynolds: S,
    relative_roughness: S,
}

impl<S: Copy> Judged<S> {
    /// The steps in a row.
    pub(crate) fn listed(&self) -> [S; JUDGED] {
        [
            self.inside_diameter,
            self.chord_offset,
            self.liquid_sound_speed,
            self.largest_sine,
            self.dead_time,
            self.reynolds,
            self.relative_roughness,
        ]
    }

    /// From the steps in a row.
    pub(crate) fn of(listed: [S; JUDGED]) -> Self {
        let [
            inside_diameter,
            chord_offset,
            liquid_sound_speed,
            largest_sine,
            dead_time,
            reynolds,
            relative_roughness,
        ] = listed;
        Judged {
            inside_diameter,
            chord_offset,
            liquid_sound_speed,
            largest_sine,
            dead_time,
            reynolds,
            relative_roughness,
        }
    }
}

impl SiteModel {
    /// The steps at estimates, unless no measurement can have led to them; then words say why.
    ///
    /// # Errors
    /// No sound path, a pipe without bore, a liquid outside its formulation, a transit time
    /// shorter than the dead time, a Reynolds number outside the profile laws.
    pub fn checked_steps(&self, x: &[f64]) -> Result<Intermediates<f64>> {
        let values = self.values(x);
        let steps = self.steps(x);
        self.check_bore(&values, &steps)?;
        if self.choices.needs_path() {
            self.check_path(&values, &steps)?;
        }
        if self.choices.basis == Basis::Timed {
            let time = values.of(Quantity::TransitTime);
            let allowed = format!("above the dead time, {:.4e} s", steps.dead_time);
            let longer = time > steps.dead_time;
            Error::range(longer, "readings.transit_time", time, "s", allowed)?;
        }
        let (law, friction) = (self.choices.law, self.choices.friction);
        profile::check_laws(steps.reynolds, steps.relative_roughness, law, friction)?;
        Ok(steps)
    }

    /// The steps as far as they need no readings, from the pipe to the sound path, unless there is
    /// no path; then words say why. The flow is NaN.
    ///
    /// # Errors
    /// Something that the path needs and that the site does not state, no sound path, a pipe
    /// without bore, a liquid outside its formulation.
    pub(crate) fn checked_sound_path(&self, x: &[f64]) -> Result<Intermediates<f64>> {
        if let Some((quantity, needed)) = self.choices.path_lacks(&|q| self.has(q)) {
            return Err(Error::Missing {
                field: quantity.path().into_owned(),
                needed: format!("{needed}, since the sound path rests on it"),
            });
        }
        let layers = (0..self.choices.layers).map(Quantity::LayerSoundSpeed);
        if let Some(unknown) = layers.into_iter().find(|q| !self.has(*q)) {
            return Err(Error::Missing {
                field: unknown.path().into_owned(),
                needed:
                    "sound speed of the wave in the layer, or a material, since the sound path \
                         rests on it"
                        .to_owned(),
            });
        }
        let mut with_path = self.clone();
        with_path.choices.basis = Basis::Geometric;
        let values = with_path.values(x);
        let steps = with_path.steps(x);
        with_path.check_bore(&values, &steps)?;
        with_path.check_path(&values, &steps)?;
        Ok(steps)
    }

    fn check_bore(&self, values: &Values<f64>, steps: &Intermediates<f64>) -> Result<()> {
        let bore = steps.inside_diameter;
        let allowed = "above 0: wall and lining must be thinner than the radius";
        Error::range(bore > 0.0, "pipe.inside_diameter", bore, "m", allowed)?;
        self.check_expansion(values)?;
        if let LiquidModel::Computed(liquid) = &self.choices.liquid {
            liquid.check(&self.state(values))?;
        }
        let offset = steps.chord_offset;
        let most = 0.5 * bore * profile::MOST_OFFSET;
        let allowed = format!("within {most} m of the axis, 0.7 of the radius");
        let near = offset.abs() <= most;
        Error::range(near, "path.chord_offset", offset, "m", allowed)
    }

    /// The steps that [`SiteModel::surely_valid`] judges.
    pub(crate) fn judged<S: Scalar>(&self, x: &[S], steps: &Intermediates<S>) -> Judged<S> {
        Judged {
            inside_diameter: steps.inside_diameter,
            chord_offset: steps.chord_offset,
            liquid_sound_speed: steps.liquid_sound_speed,
            largest_sine: self.largest_sine(x),
            dead_time: steps.dead_time,
            reynolds: steps.reynolds,
            relative_roughness: steps.relative_roughness,
        }
    }

    /// Whether the readings of one row of many, with everything else as in a row that
    /// [`SiteModel::checked_steps`] let pass, pass as well. Cheap, and on the safe side: of a row that
    /// does not, [`SiteModel::checked_steps`] tells in words, or lets it pass.
    pub(crate) fn surely_valid(
        &self,
        state: &State<f64>,
        transit_time: f64,
        judged: &Judged<f64>,
    ) -> bool {
        let bore = judged.inside_diameter;
        let choices = &self.choices;
        let liquid_holds = match &choices.liquid {
            LiquidModel::Computed(liquid) => liquid.check(state).is_ok(),
            LiquidModel::Stated => true,
        };
        let path_holds = !choices.needs_path()
            || judged.liquid_sound_speed > 0.0
                && (choices.angle_from != AngleFrom::Wedge || judged.largest_sine < 1.0);
        let time_holds = choices.basis != Basis::Timed || transit_time > judged.dead_time;
        let (law, friction) = (choices.law, choices.friction);
        let (reynolds, roughness) = (judged.reynolds, judged.relative_roughness);
        bore > 0.0
            && !self.has(Quantity::SurveyPressure)
            && judged.chord_offset.abs() <= 0.5 * bore * profile::MOST_OFFSET
            && liquid_holds
            && path_holds
            && time_holds
            && profile::check_laws(reynolds, roughness, law, friction).is_ok()
    }

    fn check_expansion(&self, values: &Values<f64>) -> Result<()> {
        if !self.has(Quantity::SurveyPressure) {
            return Ok(());
        }
        let bore = Bore::of(&self.choices, &self.terms, values);
        Pressurised {
            outside_diameter: bore.outside_diameter,
            inside_diameter: bore.outside_diameter - 2.0 * values.of(Quantity::Wall),
            pressure: values.of(Quantity::Pressure) - values.of(Quantity::SurveyPressure),
            youngs_modulus: values.of(Quantity::YoungsModulus),
            poisson_ratio: values.of(Quantity::PoissonRatio),
            ends: self.choices.ends,
        }
        .check()
    }

    fn check_path(&self, values: &Values<f64>, steps: &Intermediates<f64>) -> Result<()> {
        let bore = Bore::of(&self.choices, &self.terms, values);
        let mut words = Vec::new();
        if self.has(Quantity::Couplant) {
            words.push(("path.couplant".to_owned(), "couplant".to_owned()));
        }
        words.push(("pipe.wall".to_owned(), "wall".to_owned()));
        if self.has(Quantity::Liner) {
            words.push(("pipe.liner".to_owned(), "liner".to_owned()));
        }
        let inner = (1..=self.choices.layers)
            .map(|n| (format!("pipe.layer[{n}].thickness"), format!("layer {n}")));
        words.extend(inner);
        let named: Vec<NamedLayer<'_>> = words
            .iter()
            .zip(&bore.layers)
            .map(|((key, word), layer)| NamedLayer {
                key,
                word,
                layer: *layer,
            })
            .collect();
        let geometry = Geometry {
            layers: &bore.layers,
            chord: bore.chord,
            liquid_sound_speed: steps.liquid_sound_speed,
            traverses: self.choices.traverses,
        };
        let known: Vec<NamedLayer<'_>> = if self.choices.basis == Basis::Indicated {
            // the angle in the wedge is enough there, so that speeds of layers may be unknown
            let speed = |named: &NamedLayer<'_>| named.layer.sound_speed.is_finite();
            named.into_iter().filter(speed).collect()
        } else {
            named
        };
        check_layers(&known, &geometry)?;
        if self.choices.angle_from == AngleFrom::Wedge {
            check_refraction(
                values.of(Quantity::WedgeAngle),
                self.wedge_sound_speed(values),
                &known,
                steps.liquid_sound_speed,
            )?;
        }
        Ok(())
    }
}
