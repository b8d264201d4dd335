//! What a meter measured, from what it indicates: the inverse of its own computation.

use super::bore::Bore;
use super::equations::{CONVECTION, Equations};
use super::layers::LayerName;
use super::liquid::Properties;
use super::terms::Values;
use super::{Principle, Programmed, Quantity, SiteModel};
use crate::acoustics::{
    Geometry, Layer, Path, convected, mean_time_in_flow, velocity_from_geometry,
};
use crate::derivation::{Notes, Step};
use crate::pipe;
use crate::profile::correction_factor;
use crate::scalar::Scalar;

/// The site that the meter looks at.
pub(super) struct Seen<'a, S> {
    pub(super) values: &'a Values<S>,
    pub(super) bore: &'a Bore<S>,
    pub(super) liquid: &'a Properties<S>,
    pub(super) path: &'a Path<S>,
    pub(super) say: &'a Equations<'a>,
}

/// Currents in A between which the output of a meter is linear in the flow.
const CURRENTS: [f64; 2] = [0.004, 0.020];
const CURRENT_LOOP: &str = "current of 4 to 20 mA, linear in the flow (common practice)";
const TAKEN_BACK: &str = "what the meter computed with its programmed parameters, taken back";

/// A programmed number, or the symbol of what the site has.
fn or_symbol(programmed: Option<f64>, symbol: &str) -> String {
    programmed.map_or_else(|| symbol.to_owned(), |number| format!("{number:e}"))
}

impl SiteModel {
    /// The velocity on the path from what the meter indicates.
    ///
    /// ```text
    /// v_m = (v_i - v_0)/k_m,    k_m = 1 - m_k (1 - k_e)
    /// timed:      v_1 = v_m (a_m/a) (t_v - x_m)/t_v
    /// geometric:  dt = 2 v_m s_m/c_m^2
    /// ```
    /// `a_m`, `c_m`, `s_m`: axial slowness, sound speed of the liquid and run in the liquid as the
    /// meter computed them; `t_v` the time in the liquid, `x_m` the dead time of the meter less that
    /// of the site. `k_m` is what it corrected the profile with; where that is not known, the share
    /// `m_k` of what the factor `k_e` of the profile law asks for. Where the principle is not known,
    /// the share `m_g` of the geometric velocity.
    pub(super) fn indicated_velocity<S: Scalar, N: Notes<S>>(
        &self,
        seen: &Seen<'_, S>,
        notes: &mut N,
    ) -> S {
        let Some(programmed) = &self.choices.programmed else {
            return S::constant(f64::NAN); // not reached: the site file must state them
        };
        let of = |q: Quantity| seen.values.of(q);
        let flow = self.flow_of_output(seen.values, notes);
        let (indicated, shown) = match programmed.inside_diameter.zip(flow) {
            Some((d, (flow, symbol))) => (flow / pipe::area(d), format!("{symbol}/(pi/4*{d:e}^2)")),
            None => (of(Quantity::IndicatedVelocity), "v_i".to_owned()),
        };
        let indicated = indicated - of(Quantity::ZeroVelocity);
        let factor = self.factor_of_meter(programmed, seen, indicated);
        let by = or_symbol(programmed.profile_factor, "k_m");
        if programmed.profile_factor.is_none() {
            notes.note(|| {
                let words = "profile factor that the meter applied";
                let found = "1 - m_k*(1 - k_e), with the share m_k of the correction and the factor k_e \
                             of the profile law at the indicated velocity";
                Step::new("k_m", words, "", factor, "1").found(found)
            });
        }
        let uncorrected = indicated / factor;
        notes.note(|| {
            let words = "velocity that the meter computed, without its profile factor";
            let equation = format!("({shown} - v_0)/{by}");
            Step::new("v_m", words, equation, uncorrected, "m/s").from(TAKEN_BACK)
        });
        let words = "mean axial velocity on the path";
        match programmed.principle {
            Some(Principle::Timed) => {
                programmed.timed(self, seen, uncorrected, ("v", words), notes)
            }
            Some(Principle::Geometric) => {
                programmed.geometric(seen, uncorrected, ("v", words), notes)
            }
            None if programmed.principle_matters() => {
                let words = "velocity on the path, if the meter is timed";
                let timed = programmed.timed(self, seen, uncorrected, ("v_t", words), notes);
                let words = "velocity on the path, if the meter is geometric";
                let geometric = programmed.geometric(seen, uncorrected, ("v_g", words), notes);
                let velocity = timed + of(Quantity::GeometricShare) * (geometric - timed);
                notes.note(|| {
                    let words = "mean axial velocity on the path";
                    Step::new("v", words, "v_t + m_g*(v_g - v_t)", velocity, "m/s")
                });
                velocity
            }
            None => programmed.timed(self, seen, uncorrected, ("v", words), notes),
        }
    }

    /// The volume flow that the meter indicates with its symbol, where a volume flow was read: as
    /// such, from counts in a time, or as a current.
    ///
    /// ```text
    /// Q_m = Q_i/F_n,    Q_m = Q_4 + (I_r + I_i + I_o - 4 mA)/(16 mA) (Q_20 - Q_4)
    /// ```
    fn flow_of_output<S: Scalar, N: Notes<S>>(
        &self,
        values: &Values<S>,
        notes: &mut N,
    ) -> Option<(S, &'static str)> {
        let of = |q: Quantity| values.of(q);
        let words = "volume flow that the meter indicates";
        let span = self.choices.programmed.and_then(|p| p.current_span);
        if let Some([low, high]) = span.filter(|_| self.has(Quantity::ReadCurrent)) {
            let current = of(Quantity::ReadCurrent)
                + of(Quantity::CurrentInput)
                + of(Quantity::CurrentOutput);
            let flow = (current - CURRENTS[0]) / (CURRENTS[1] - CURRENTS[0]) * (high - low) + low;
            notes.note(|| {
                let span = high - low;
                let equation = format!("{low:e} + (I_r + I_i + I_o - 0.004)/0.016*({span:e})");
                Step::new("Q_m", words, equation, flow, "m3/s").from(CURRENT_LOOP)
            });
            return Some((flow, "Q_m"));
        }
        if !self.has(Quantity::IndicatedFlow) {
            return None;
        }
        let flow = of(Quantity::IndicatedFlow);
        if !self.has(Quantity::CounterClock) {
            return Some((flow, "Q_i"));
        }
        let flow = flow / of(Quantity::CounterClock);
        notes.note(|| Step::new("Q_m", words, "Q_i/F_n", flow, "m3/s"));
        Some((flow, "Q_m"))
    }

    /// The volume flow that the meter indicates, where a volume flow was read in any form.
    pub(crate) fn shown_flow<S: Scalar>(&self, x: &[S]) -> Option<S> {
        let flow = self.flow_of_output(&self.values(x), &mut ());
        flow.map(|(flow, _)| flow)
    }

    /// The profile factor that the meter applied.
    fn factor_of_meter<S: Scalar>(
        &self,
        programmed: &Programmed,
        seen: &Seen<'_, S>,
        indicated: S,
    ) -> S {
        if let Some(factor) = programmed.profile_factor {
            return S::constant(factor);
        }
        let or = |stated: Option<f64>, seen: S| stated.map_or(seen, S::constant);
        let diameter = or(programmed.inside_diameter, seen.bore.inside_diameter);
        let viscosity = programmed.kinematic_viscosity;
        let viscosity = or(viscosity, seen.liquid.kinematic_viscosity);
        let roughness = or(programmed.roughness, seen.values.of(Quantity::Roughness));
        // what it indicates is near the mean velocity
        let reynolds = indicated.abs() * diameter / viscosity;
        let (law, friction) = (self.choices.law, self.choices.friction);
        let expected = correction_factor(reynolds, roughness / diameter, law, friction);
        let share = seen.values.of(Quantity::ProfileCorrection);
        -(share * (-expected + 1.0)) + 1.0
    }
}

/// The symbol of a velocity and its words.
type Named = (&'static str, &'static str);

impl Programmed {
    /// Whether a timed and a geometric meter would tell different velocities.
    pub(crate) fn principle_matters(&self) -> bool {
        self.inside_diameter.is_some() || self.needs_path()
    }

    /// Whether the sound path of the sensors must be known to take back what was programmed.
    pub(super) fn needs_path(&self) -> bool {
        self.axial_slowness.is_some() || self.liquid_sound_speed.is_some() || self.has_layers()
    }

    /// Whether layers were programmed, so that those of the site must be known.
    pub(super) fn has_layers(&self) -> bool {
        let of_layers = [
            self.wall,
            self.wall_sound_speed,
            self.liner,
            self.liner_sound_speed,
        ];
        of_layers.iter().any(Option::is_some)
    }

    /// Thickness and sound speed of a layer as programmed.
    fn of_layer(&self, name: LayerName) -> (Option<f64>, Option<f64>) {
        match name {
            LayerName::Wall => (self.wall, self.wall_sound_speed),
            LayerName::Liner => (self.liner, self.liner_sound_speed),
            LayerName::Couplant | LayerName::Further(_) | LayerName::Outside(_) => (None, None),
        }
    }

    /// The velocity of a meter that divides by the time in the liquid.
    fn timed<S: Scalar, N: Notes<S>>(
        &self,
        model: &SiteModel,
        seen: &Seen<'_, S>,
        uncorrected: S,
        (symbol, words): Named,
        notes: &mut N,
    ) -> S {
        if !self.needs_path() {
            notes.note(|| Step::new(symbol, words, "v_m", uncorrected, "m/s"));
            return uncorrected;
        }
        let (path, speed) = (seen.path, seen.liquid.sound_speed);
        let names = || LayerName::of(&model.choices, &model.terms);
        let layers: Vec<Layer<S>> = names()
            .zip(&seen.bore.layers)
            .map(|(name, layer)| {
                let (thickness, sound_speed) = self.of_layer(name);
                Layer {
                    thickness: thickness.map_or(layer.thickness, S::constant),
                    sound_speed: sound_speed.map_or(layer.sound_speed, S::constant),
                }
            })
            .collect();
        let geometry = Geometry {
            layers: &layers,
            chord: seen.bore.chord,
            liquid_sound_speed: speed,
            traverses: model.choices.traverses,
        };
        let slowness = self.slowness(path);
        // the angle in the wedge is enough for the rest, so that speeds of layers may be unknown
        let known = names().all(|name| {
            let q = name.sound_speed();
            model.has(q) || q.default_value().is_finite()
        });
        let excess = if known {
            Path::trace(&geometry, slowness).time_in_layers - path.time_in_layers
        } else {
            S::constant(0.0)
        };
        notes.note(|| {
            let a = or_symbol(self.axial_slowness, "a");
            let time = |name: LayerName| {
                let (e, c) = seen.say.symbols_of(name);
                let (thickness, sound_speed) = self.of_layer(name);
                let (e, c) = (or_symbol(thickness, &e), or_symbol(sound_speed, &c));
                format!("2*{e}/({c}*sqrt(1 - ({a}*{c})^2))")
            };
            let times: Vec<String> = names().map(time).collect();
            let words = "dead time with which the meter computed, less that of the site";
            let equation = if known {
                format!("{} - t_p", times.join(" + "))
            } else {
                "0".to_owned()
            };
            Step::new("x_m", words, equation, excess, "s").from(TAKEN_BACK)
        });
        let ratio = slowness / path.axial_slowness;
        let at = |velocity: S| {
            let time = mean_time_in_flow(path, speed, velocity);
            (time, uncorrected * ratio * (time - excess) / time)
        };
        let carried = |first_order: S| convected(first_order, path.liquid_sine, speed);
        // the time changes with the velocity in second order of v/c, so twice is enough
        let (time, first_order) = at(carried(at(uncorrected * ratio).1));
        let velocity = carried(first_order);
        notes.note(|| {
            let words = "mean time in the liquid with and against the flow";
            let found = "at the velocity found below";
            Step::new("t_v", words, "", time, "s").found(found)
        });
        notes.note(|| {
            let words = "velocity in first order of v/c, if the meter is timed";
            let a = or_symbol(self.axial_slowness, "a");
            let equation = format!("v_m*{a}/a*(t_v - x_m)/t_v");
            Step::new("v_1", words, equation, first_order, "m/s").from(TAKEN_BACK)
        });
        notes.note(|| {
            let equation = "v_1/sqrt(1 + (v_1/c_f)^2*(1 - sin_f^2))";
            Step::new(symbol, words, equation, velocity, "m/s").from(CONVECTION)
        });
        velocity
    }

    /// The velocity of a meter that computes with diameter and sound speed of the liquid.
    fn geometric<S: Scalar, N: Notes<S>>(
        &self,
        seen: &Seen<'_, S>,
        uncorrected: S,
        (symbol, words): Named,
        notes: &mut N,
    ) -> S {
        let chord = self.inside_diameter.map_or(seen.bore.chord, S::constant);
        let across = or_symbol(self.inside_diameter, seen.say.symbols.chord);
        if !self.needs_path() {
            let velocity = uncorrected * chord / seen.bore.chord;
            notes.note(|| {
                let equation = format!("v_m*{across}/{}", seen.say.symbols.chord);
                Step::new(symbol, words, equation, velocity, "m/s").from(TAKEN_BACK)
            });
            return velocity;
        }
        let traverses = seen.say.choices.traverses;
        let true_speed = seen.liquid.sound_speed;
        let speed = self.liquid_sound_speed.map_or(true_speed, S::constant);
        let geometry = Geometry {
            layers: &[],
            chord,
            liquid_sound_speed: speed,
            traverses,
        };
        let run = Path::trace(&geometry, self.slowness(seen.path)).run_in_liquid;
        let time_difference = uncorrected * run * 2.0 / (speed * speed);
        notes.note(|| {
            let words = "time difference that a geometric meter measured";
            let a = or_symbol(self.axial_slowness, "a");
            let c = or_symbol(self.liquid_sound_speed, "c_f");
            let run = format!("{traverses}*{across}*{a}*{c}/sqrt(1 - ({a}*{c})^2)");
            let equation = format!("2*v_m*{run}/{c}^2");
            Step::new("dt_m", words, equation, time_difference, "s").from(TAKEN_BACK)
        });
        let velocity = velocity_from_geometry(time_difference, seen.path, true_speed);
        notes.note(|| {
            let equation = "c_f^2*dt_m/(s_f + sqrt(s_f^2 + (c_f*dt_m)^2))";
            Step::new(symbol, words, equation, velocity, "m/s").from(CONVECTION)
        });
        velocity
    }

    /// The axial slowness with which the meter computed.
    fn slowness<S: Scalar>(&self, path: &Path<S>) -> S {
        self.axial_slowness.map_or(path.axial_slowness, S::constant)
    }
}
