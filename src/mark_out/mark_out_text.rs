//! A mark-out in words, in both systems of units.

use super::{MarkOut, inch_fraction};
use crate::model::AngleFrom;
use crate::uncertainty::{Budget, plain, rounded_pair};
use serde::Serialize;
use serde_json::json;
use std::fmt::Write as _;

/// A line of a mark-out as people read it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[non_exhaustive]
pub struct Line {
    /// What it is.
    pub words: String,
    /// The length in millimetres, or the figure in SI units.
    pub si: String,
    /// The length in inches, decimal and to 1/32; empty where inches say nothing.
    pub inch: String,
}

/// Parts of an inch on the tapes of the trade.
const PARTS: u32 = 32;

/// Placement error round the pipe in m at which its cost is shown.
const SHOWN_ROUND_PIPE: f64 = 5e-3;

fn length(words: &str, value: f64) -> Line {
    Line {
        words: words.to_owned(),
        si: format!("{:.1} mm", 1e3 * value),
        inch: format!("{:.3} in ({})", value / 0.0254, inch_fraction(value, PARTS)),
    }
}

/// A length with its standard uncertainty, rounded to two digits of it.
fn measured(words: &str, budget: &Budget) -> Line {
    let pair = |factor: f64, unit: &str| {
        let (value, u) = rounded_pair(
            budget.estimate * factor,
            budget.standard_uncertainty * factor,
        );
        format!("{value} {unit}, u = {u} {unit}")
    };
    Line {
        words: words.to_owned(),
        si: pair(1e3, "mm"),
        inch: format!(
            "{} ({})",
            pair(1.0 / 0.0254, "in"),
            inch_fraction(budget.estimate, PARTS)
        ),
    }
}

fn figure(words: &str, si: String) -> Line {
    let (words, inch) = (words.to_owned(), String::new());
    Line { words, si, inch }
}

impl MarkOut {
    /// Every number for people, in the order in which it is needed.
    pub fn lines(&self) -> Vec<Line> {
        let path = if self.is_direct() {
            "direct: sensors on opposite sides"
        } else {
            "reflected: both sensors on one line along the pipe"
        };
        let mut lines = vec![
            figure("path", path.to_owned()),
            figure("traverses", self.traverses.to_string()),
            measured("axial spacing of the exit points", &self.spacing),
        ];
        if let Some(placed) = self.placed.filter(|_| self.angle_from == AngleFrom::Wedge) {
            lines.push(length("axial spacing stated as placed", placed));
        }
        if let Some(difference) = &self.wedge_less_placed {
            lines.push(measured(
                "spacing from the wedge less as placed",
                difference,
            ));
        }
        lines.push(measured("circumference", &self.circumference));
        lines.push(measured("half circumference", &self.half_circumference));
        // of a direct path it is half the circumference, which need not be told twice
        if !self.is_direct() {
            let offset = "offset round the pipe between the sensors";
            lines.push(length(offset, self.offset_round_pipe()));
        }
        if let Some(own) = self.sensor_length {
            lines.push(length("length of one sensor", own));
        }
        if let Some(gap) = self.gap() {
            let words = "room between the sensors, exit points in their middle";
            lines.push(length(words, gap));
        }
        lines.push(length("outside diameter", self.outside_diameter));
        lines.push(length("wall with lining", self.wall_and_lining));
        lines.push(length("inside diameter", self.inside_diameter));
        if let Some(kelvin) = self.liquid_temperature {
            let (celsius, fahrenheit) = (kelvin - 273.15, kelvin * 1.8 - 459.67);
            lines.push(Line {
                words: "temperature of the liquid".to_owned(),
                si: format!("{celsius:.1} degC"),
                inch: format!("{fahrenheit:.1} degF"),
            });
        }
        let speed = self.liquid_sound_speed;
        lines.push(Line {
            words: "sound speed of the liquid".to_owned(),
            si: format!("{speed:.1} m/s"),
            inch: format!("{:.0} ft/s", speed / 0.3048),
        });
        let [in_wall, in_liquid] = self.angles.map(f64::to_degrees);
        lines.push(figure(
            "angle of the ray in wall and liquid",
            format!("{in_wall:.2} deg, {in_liquid:.2} deg"),
        ));
        let from = format!("from the {}", self.angle_from.in_words());
        lines.push(figure("angle of the ray", from));
        lines.extend(self.costs());
        lines
    }

    /// What a placement error costs.
    fn costs(&self) -> Vec<Line> {
        let percent = |change: f64| format!("{:+.3} % of the flow", 100.0 * change);
        let mut lines = Vec::new();
        if let Some(slope) = self.axial_sensitivity(AngleFrom::Spacing) {
            lines.push(Line {
                words: "1 mm (1/16 in) farther apart, ray from the spacing".to_owned(),
                si: percent(1e-3 * slope),
                inch: percent(0.0254 / 16.0 * slope),
            });
        }
        if let Some(slope) = self.axial_sensitivity(AngleFrom::Wedge) {
            let words = "1 mm farther apart, ray from a wedge of wide beam";
            let si = if slope == 0.0 {
                "none".to_owned()
            } else {
                percent(1e-3 * slope)
            };
            lines.push(figure(words, si));
        }
        if let Ok(change) = self.flow_change(self.angle_from, 0.0, SHOWN_ROUND_PIPE) {
            let words = format!(
                "{} mm too far round the pipe",
                plain(1e3 * SHOWN_ROUND_PIPE)
            );
            lines.push(figure(&words, percent(change)));
        }
        lines
    }

    /// The mark-out as text for a terminal.
    pub fn in_words(&self) -> String {
        let lines = self.lines();
        let widest = |of: fn(&Line) -> &str| {
            let lengths = lines.iter().map(|line| of(line).chars().count());
            lengths.max().unwrap_or(0)
        };
        // words and figures that have no counterpart in inches may be longer
        let words = widest(|line| &line.words);
        let si = widest(|line| if line.inch.is_empty() { "" } else { &line.si });
        let mut text = format!(
            "{}\nmark-out, site file SHA-256 {}\n\n",
            self.site, self.site_digest
        );
        for line in &lines {
            let row = format!("{:<words$}  {:<si$}  {}", line.words, line.si, line.inch);
            // writing to a String cannot fail
            let _ = writeln!(text, "{}", row.trim_end());
        }
        for advice in &self.advice {
            let _ = writeln!(text, "mounting (common practice): {advice}");
        }
        for warning in &self.warnings {
            let _ = writeln!(text, "warning ({}): {}", warning.code, warning.words);
        }
        text
    }

    /// Spacing, path and half circumference in one line.
    pub fn in_one_line(&self) -> String {
        let path = if self.is_direct() {
            "direct"
        } else {
            "reflected"
        };
        format!(
            "spacing {:.1} mm, {path} path, half circumference {:.1} mm",
            1e3 * self.spacing.estimate,
            1e3 * self.half_circumference.estimate
        )
    }

    /// Name and version of the software.
    pub fn software() -> String {
        format!("flowdoubt {}", env!("CARGO_PKG_VERSION"))
    }

    /// Everything as JSON text, all numbers in SI units with the unit in the name.
    pub fn to_json(&self) -> String {
        let [in_wall, in_liquid] = self.angles;
        let all = json!({
            "software": Self::software(),
            "site": self.site,
            "site_digest": self.site_digest,
            "traverses": self.traverses,
            "direct": self.is_direct(),
            "angle_from": self.angle_from.in_words(),
            "spacing_m": self.spacing.estimate,
            "spacing_standard_uncertainty_m": self.spacing.standard_uncertainty,
            "placed_spacing_m": self.placed,
            "circumference_m": self.circumference.estimate,
            "circumference_standard_uncertainty_m": self.circumference.standard_uncertainty,
            "half_circumference_m": self.half_circumference.estimate,
            "half_circumference_standard_uncertainty_m":
                self.half_circumference.standard_uncertainty,
            "offset_round_pipe_m": self.offset_round_pipe(),
            "sensor_length_m": self.sensor_length,
            "gap_m": self.gap(),
            "outside_diameter_m": self.outside_diameter,
            "wall_and_lining_m": self.wall_and_lining,
            "inside_diameter_m": self.inside_diameter,
            "liquid_temperature_k": self.liquid_temperature,
            "liquid_sound_speed_m_s": self.liquid_sound_speed,
            "angle_in_wall_rad": in_wall,
            "angle_in_liquid_rad": in_liquid,
            "axial_sensitivity_from_spacing_per_m": self.axial_sensitivity(AngleFrom::Spacing),
            "axial_sensitivity_from_wedge_per_m": self.axial_sensitivity(AngleFrom::Wedge),
            "warnings": self.warnings,
            "advice": self.advice,
        });
        format!("{all:#}")
    }
}
