//! What no measurement can have led to: in words.

use super::bore::Bore;
use super::choices::OutsideLayer;
use super::layers::LayerName;
use super::steps::largest_sine_of;
use super::terms::Values;
use super::{AngleFrom, Basis, Intermediates, LiquidModel, Quantity, SiteModel, Uncalibrated};
use crate::acoustics::{Geometry, NamedLayer, check_layers, check_refraction};
use crate::error::{Error, Result};
use crate::liquid::State;
use crate::pipe::Pressurised;
use crate::profile;
use crate::scalar::Scalar;
use std::borrow::Cow;

const BEAM_WIDTH: &str = "path.beam_width";

/// Number of steps in [`Judged`].
pub(crate) const JUDGED: usize = 10;

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
    beam: S,
    pub(crate) uncalibrated: Uncalibrated<S>,
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
            self.beam,
            self.uncalibrated.volume_flow,
            self.uncalibrated.reynolds,
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
            beam,
            volume_flow,
            uncalibrated_reynolds,
        ] = listed;
        Judged {
            inside_diameter,
            chord_offset,
            liquid_sound_speed,
            largest_sine,
            dead_time,
            reynolds,
            relative_roughness,
            beam,
            uncalibrated: Uncalibrated {
                volume_flow,
                reynolds: uncalibrated_reynolds,
            },
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
        let (bore, steps) = self.traced(x, &mut ());
        self.check_bore(&values, &bore, &steps)?;
        if self.choices.needs_path() {
            self.check_path(&values, &bore, &steps)?;
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
        let crossed = LayerName::of(&self.choices, &self.terms).map(LayerName::sound_speed);
        let mut unknown = crossed.filter(|q| !self.has(*q) && q.default_value().is_nan());
        if let Some(unknown) = unknown.next() {
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
        let (bore, steps) = with_path.traced(x, &mut ());
        with_path.check_bore(&values, &bore, &steps)?;
        with_path.check_path(&values, &bore, &steps)?;
        Ok(steps)
    }

    fn check_bore(
        &self,
        values: &Values<f64>,
        found: &Bore<f64>,
        steps: &Intermediates<f64>,
    ) -> Result<()> {
        let through = |layer: &OutsideLayer| layer.in_wall_reading;
        if LayerName::outside(&self.choices, through).next().is_some() {
            let allowed = "above 0: more than the gauge took the layers on the wall for";
            Error::range(
                found.surveyed_wall > 0.0,
                "pipe.wall",
                found.surveyed_wall,
                "m",
                allowed,
            )?;
        }
        let bore = steps.inside_diameter;
        let allowed = "above 0: wall and lining must be thinner than the radius";
        Error::range(bore > 0.0, "pipe.inside_diameter", bore, "m", allowed)?;
        self.check_expansion(values, found)?;
        if let LiquidModel::Computed(liquid) = &self.choices.liquid {
            liquid.check(&self.state(values))?;
        }
        let offset = steps.chord_offset;
        let most = 0.5 * bore * profile::MOST_OFFSET;
        let allowed = format!("within {most} m of the axis, 0.7 of the radius");
        let near = offset.abs() <= most;
        Error::range(near, "path.chord_offset", offset, "m", allowed)?;
        let (beam, offset) = (
            steps.conditions.beam.unwrap_or(0.0),
            offset.abs() / (0.5 * bore),
        );
        let narrow = profile::check_beam(offset, beam, BEAM_WIDTH).is_ok();
        let most = bore * (0.95 - offset).min(0.9);
        let allowed = format!("up to {most:.4} m, so that the beam passes through the bore");
        Error::range(narrow, BEAM_WIDTH, beam * bore, "m", allowed)
    }

    /// Every step, and those that [`SiteModel::surely_valid`] judges.
    pub(crate) fn judged_steps<S: Scalar>(&self, x: &[S]) -> (Intermediates<S>, Judged<S>) {
        let (bore, steps) = self.traced(x, &mut ());
        let judged = Judged {
            inside_diameter: steps.inside_diameter,
            chord_offset: steps.chord_offset,
            liquid_sound_speed: steps.liquid_sound_speed,
            largest_sine: largest_sine_of(&bore, &steps.path),
            dead_time: steps.dead_time,
            reynolds: steps.reynolds,
            relative_roughness: steps.relative_roughness,
            beam: steps.conditions.beam.unwrap_or(S::constant(0.0)),
            uncalibrated: steps.uncalibrated,
        };
        (steps, judged)
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
            && profile::check_beam(
                2.0 * judged.chord_offset.abs() / bore,
                judged.beam,
                BEAM_WIDTH,
            )
            .is_ok()
            && liquid_holds
            && self.calibration_holds(&judged.uncalibrated)
            && path_holds
            && time_holds
            && profile::check_laws(reynolds, roughness, law, friction).is_ok()
    }

    fn check_expansion(&self, values: &Values<f64>, bore: &Bore<f64>) -> Result<()> {
        if !self.has(Quantity::SurveyPressure) {
            return Ok(());
        }
        Pressurised {
            outside_diameter: bore.outside_diameter,
            inside_diameter: bore.outside_diameter - 2.0 * bore.surveyed_wall,
            pressure: values.of(Quantity::Pressure) - values.of(Quantity::SurveyPressure),
            youngs_modulus: values.of(Quantity::YoungsModulus),
            poisson_ratio: values.of(Quantity::PoissonRatio),
            ends: self.choices.ends,
        }
        .check()
    }

    fn check_path(
        &self,
        values: &Values<f64>,
        bore: &Bore<f64>,
        steps: &Intermediates<f64>,
    ) -> Result<()> {
        let words: Vec<(Cow<'_, str>, &str)> = LayerName::of(&self.choices, &self.terms)
            .map(|name| (name.thickness().path(), name.in_words(&self.choices)))
            .collect();
        let named = words
            .iter()
            .zip(&bore.layers)
            .map(|((key, word), layer)| NamedLayer {
                key,
                word,
                layer: *layer,
            });
        let geometry = Geometry {
            layers: &bore.layers,
            chord: bore.chord,
            liquid_sound_speed: steps.liquid_sound_speed,
            traverses: self.choices.traverses,
        };
        let known: Vec<NamedLayer<'_>> = if self.choices.basis == Basis::Indicated {
            // the angle in the wedge is enough there, so that speeds of layers may be unknown
            named.filter(|n| n.layer.sound_speed.is_finite()).collect()
        } else {
            named.collect()
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
