//! The equations of the measurement model as text, for the steps that depend on what a site has.

use super::bore::Symbols;
use super::layers::LayerName;
use super::terms::Terms;
use super::{Choices, Quantity, SiteModel};
use crate::acoustics::Path;
use crate::derivation::{Notes, Step, Token, Way, tokens};

/// Writes the equations of a site.
pub(super) struct Equations<'a> {
    pub(super) choices: &'a Choices,
    pub(super) terms: &'a Terms,
    pub(super) symbols: Symbols,
}

const SNELL: &str = "Snell's law";
const TRIGONOMETRY: &str = "plane trigonometry";
/// The source of velocities that know of it.
pub(super) const CONVECTION: &str =
    "the flow carries the sound along; exact for a uniform velocity";
const VELOCITY: &str = "mean axial velocity on the path";

impl Equations<'_> {
    /// The symbols of thickness and sound speed of a layer in operation.
    pub(super) fn symbols_of(&self, name: LayerName) -> (String, String) {
        match name {
            LayerName::Wall => (
                self.symbols.wall.to_owned(),
                self.symbols.wall_sound_speed.to_owned(),
            ),
            other => (
                other.thickness().symbol().into_owned(),
                other.sound_speed().symbol().into_owned(),
            ),
        }
    }

    /// Those of the layers between wedge and liquid.
    fn layers(&self) -> Vec<(String, String)> {
        let names = LayerName::of(self.choices, self.terms);
        names.map(|name| self.symbols_of(name)).collect()
    }

    /// Length across the bore of all traverses.
    fn across(&self) -> String {
        format!("{}*{}", self.choices.traverses, self.symbols.chord)
    }

    pub(super) fn wedge_sound_speed<S>(&self, value: S) -> Step<S> {
        let words = "sound speed of the wedge at its temperature";
        Step::new("c_wT", words, "c_w + g_w*(T_w - T_ref)", value, "m/s")
    }

    pub(super) fn axial_slowness<S>(&self, value: S) -> Step<S> {
        let speed = if self.terms.have(Quantity::WedgeTemperature) {
            "c_wT"
        } else {
            "c_w"
        };
        let equation = format!("sin(theta_w)/{speed}");
        Step::new("a", "axial slowness of the ray", equation, value, "s/m").from(SNELL)
    }

    /// The run of the ray in all layers and the liquid.
    fn run(&self) -> String {
        let layer = |(e, c): (String, String)| format!("2*{e}*a*{c}/sqrt(1 - (a*{c})^2)");
        let layers: Vec<String> = self.layers().into_iter().map(layer).collect();
        let across = self.across();
        let sine = "a*c_f";
        format!(
            "{} + {across}*{sine}/sqrt(1 - ({sine})^2)",
            layers.join(" + ")
        )
    }

    pub(super) fn slowness_of_spacing<S>(&self, value: S) -> Step<S> {
        let words = "axial slowness of the ray between the exit points";
        Step::new("a", words, self.run(), value, "s/m")
            .root_of("s_0")
            .from("Fermat's principle with Snell's law")
    }

    /// Angles, run and times of the ray.
    pub(super) fn path<S: Copy, N: Notes<S>>(&self, path: &Path<S>, notes: &mut N) {
        if !N::TAKEN {
            return;
        }
        let across = self.across();
        notes.note(|| {
            let words = "sine of the angle in the liquid";
            Step::new("sin_f", words, "a*c_f", path.liquid_sine, "1").from(SNELL)
        });
        notes.note(|| {
            let words = "axial distance of the exit points";
            Step::new("s", words, self.run(), path.spacing, "m").from(TRIGONOMETRY)
        });
        notes.note(|| {
            let equation = format!("{across}*sin_f/sqrt(1 - sin_f^2)");
            let words = "axial run of the ray in the liquid";
            Step::new("s_f", words, equation, path.run_in_liquid, "m").from(TRIGONOMETRY)
        });
        notes.note(|| {
            let equation = format!("{across}/(c_f*sqrt(1 - sin_f^2))");
            let words = "expected time in the liquid at rest";
            Step::new("t_e", words, equation, path.time_in_liquid, "s").from(TRIGONOMETRY)
        });
        notes.note(|| {
            let layer = |(e, c): (String, String)| format!("2*{e}/({c}*sqrt(1 - (a*{c})^2))");
            let layers: Vec<String> = self.layers().into_iter().map(layer).collect();
            let words = "time in the layers, both sides together";
            let equation = layers.join(" + ");
            Step::new("t_p", words, equation, path.time_in_layers, "s").from(TRIGONOMETRY)
        });
    }

    pub(super) fn dead_time<S>(&self, value: S) -> Step<S> {
        let delays = [
            (Quantity::ElectronicsDelay, "t_el"),
            (Quantity::CableDelay, "t_c"),
            (Quantity::CableLength, "L_c*tau_c"),
            (Quantity::WedgeDelay, "t_w"),
        ];
        let stated = delays.into_iter().filter(|(q, _)| self.terms.have(*q));
        let terms: Vec<&str> = stated.map(|(_, term)| term).chain(["t_p"]).collect();
        Step::new(
            "t_0",
            "time outside the liquid",
            terms.join(" + "),
            value,
            "s",
        )
    }

    pub(super) fn time_in_liquid<S>(&self, value: S) -> Step<S> {
        let time = if self.terms.have(Quantity::TimeBase) {
            "F_t*t - t_0"
        } else {
            "t - t_0"
        };
        Step::new("t_f", "measured time in the liquid", time, value, "s")
    }

    pub(super) fn time_difference<S>(&self, value: S) -> Step<S> {
        let difference = if self.terms.have(Quantity::TimeBase) {
            "F_t*(dt_r - dt_0)"
        } else {
            "dt_r - dt_0"
        };
        let words = "time difference free of its zero";
        Step::new("dt", words, difference, value, "s")
    }

    pub(super) fn velocity_in_first_order<S>(&self, value: S) -> Step<S> {
        let words = "velocity on the path in first order of v/c";
        Step::new("v_1", words, "dt/(2*a*t_f)", value, "m/s").from("transit-time difference")
    }

    pub(super) fn velocity_from_time<S>(&self, value: S) -> Step<S> {
        let equation = "v_1/sqrt(1 + (v_1/c_f)^2*(1 - sin_f^2))";
        Step::new("v", VELOCITY, equation, value, "m/s").from(CONVECTION)
    }

    pub(super) fn velocity_from_geometry<S>(&self, value: S) -> Step<S> {
        let equation = "c_f^2*dt/(s_f + sqrt(s_f^2 + (c_f*dt)^2))";
        Step::new("v", VELOCITY, equation, value, "m/s").from(CONVECTION)
    }

    /// The factors besides that of the profile.
    pub(super) fn factors<S>(&self, value: S) -> Step<S> {
        let factors = [
            (Quantity::CalibrationFactor, "K_cal"),
            (Quantity::LawFactor, "K_law"),
            (Quantity::InstallationFactor, "K_inst"),
            (Quantity::RemountingFactor, "K_mount"),
            (Quantity::InSituFactor, "K_situ"),
        ];
        let stated = factors.into_iter().filter(|(q, _)| self.terms.have(*q));
        let symbols: Vec<&str> = stated.map(|(_, symbol)| symbol).collect();
        let equation = if symbols.is_empty() {
            "1".to_owned()
        } else {
            symbols.join("*")
        };
        Step::new(
            "K",
            "factors besides that of the profile",
            equation,
            value,
            "1",
        )
    }
}

impl SiteModel {
    /// The symbols of the inputs: that of the quantity, with a letter where it has several terms.
    pub(crate) fn input_symbols(&self) -> Vec<String> {
        let terms = self.terms();
        let symbol = |(i, q): (usize, &Quantity)| {
            let before = terms[..i].iter().filter(|other| *other == q).count();
            let all = terms.iter().filter(|other| *other == q).count();
            if all == 1 {
                return q.symbol().into_owned();
            }
            // a quantity has a handful of terms
            let letter = char::from(b'a' + u8::try_from(before.min(25)).unwrap_or(25));
            format!("{}_{letter}", q.symbol())
        };
        terms.iter().enumerate().map(symbol).collect()
    }

    /// Every step from the inputs to the flow, with its equation.
    pub(crate) fn derivation(&self, x: &[f64]) -> Vec<Step<f64>> {
        let mut model: Vec<Step<f64>> = Vec::new();
        self.noted_steps(x, &mut model);
        model.retain(|step| step.value.is_finite());
        let mut steps = self.sums(x);
        steps.extend(self.defaults(&model));
        steps.extend(model);
        steps
    }

    /// The quantities that are sums of several inputs.
    fn sums(&self, x: &[f64]) -> Vec<Step<f64>> {
        let (terms, symbols, values) = (self.terms(), self.input_symbols(), self.values(x));
        let mut sums = Vec::new();
        for (i, q) in terms.iter().enumerate() {
            let own: Vec<&str> = terms
                .iter()
                .zip(&symbols)
                .filter(|(other, _)| *other == q)
                .map(|(_, symbol)| symbol.as_str())
                .collect();
            let summed = self.choices.curve_of(*q).is_none();
            if summed && own.len() > 1 && !terms[..i].contains(q) {
                let unit = q.dimension().si_unit().symbol;
                let (words, value) = (words_of(*q), values.of(*q));
                sums.push(Step::new(q.symbol(), words, own.join(" + "), value, unit));
            }
        }
        sums
    }

    /// The quantities that the steps use though nothing is stated of them.
    fn defaults(&self, steps: &[Step<f64>]) -> Vec<Step<f64>> {
        let used = |symbol: &str| {
            let names = |equation: &str| tokens(equation).contains(&Token::Symbol(symbol));
            steps.iter().any(|step| match &step.way {
                Way::Equation(equation) => names(equation),
                Way::Root(one, other) => names(one) || names(other),
                Way::Words(_) => false,
            })
        };
        let unstated = Quantity::ALL.iter().filter(|q| !self.has(**q));
        unstated
            .filter(|q| q.default_value().is_finite() && used(&q.symbol()))
            .map(|q| {
                let unit = q.dimension().si_unit().symbol;
                Step::new(q.symbol(), words_of(*q), "", q.default_value(), unit)
                    .found("taken where nothing is stated")
            })
            .collect()
    }
}

/// A quantity in words, as part of a sentence.
pub(crate) fn words_of(q: Quantity) -> String {
    let words = q.in_words().trim_end_matches('.');
    let mut letters = words.chars();
    let first = letters.next().map(|c| c.to_ascii_lowercase());
    first.into_iter().chain(letters).collect()
}
