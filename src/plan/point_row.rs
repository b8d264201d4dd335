//! Points as rows of a table: the same columns for data frames, JSON and displays.

use super::{Plan, Point, Target};
use crate::error::Result;
use crate::evaluate::Channel;
use crate::model::Component;
use crate::site::Site;
use crate::units::Unit;
use crate::watch::Watch;
use serde_json::{Map, Value, json};
use std::borrow::Cow;

/// What stands in one cell.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub enum Cell {
    /// A number, in the unit of its column.
    Number(f64),
    /// A whole number.
    Whole(u64),
    /// Words.
    Words(String),
    /// Yes or no.
    Flag(bool),
    /// Nothing: the column has no meaning there.
    Nothing,
}

impl From<f64> for Cell {
    fn from(number: f64) -> Cell {
        if number.is_nan() {
            Cell::Nothing
        } else {
            Cell::Number(number)
        }
    }
}

impl From<Option<f64>> for Cell {
    fn from(number: Option<f64>) -> Cell {
        number.map_or(Cell::Nothing, Cell::from)
    }
}

impl From<&str> for Cell {
    fn from(words: &str) -> Cell {
        Cell::Words(words.to_owned())
    }
}

impl Cell {
    /// As JSON, in which an infinite number is `null`.
    fn to_json(&self) -> Value {
        match self {
            Cell::Number(number) => json!(Some(*number).filter(|n| n.is_finite())),
            Cell::Whole(number) => json!(number),
            Cell::Words(words) => json!(words),
            Cell::Flag(flag) => json!(flag),
            Cell::Nothing => Value::Null,
        }
    }
}

/// The cells of a row by the name of the column, which carries the unit.
pub type Row = Vec<(Cow<'static, str>, Cell)>;

pub(crate) fn put(row: &mut Row, name: impl Into<Cow<'static, str>>, cell: impl Into<Cell>) {
    row.push((name.into(), cell.into()));
}

/// The row with what is in m3/s, by the last part of its name, in another unit of flow.
pub fn row_shown_in(row: Row, unit: &Unit) -> Row {
    let suffix = unit.suffix();
    let shown = |(name, cell): (Cow<'static, str>, Cell)| match name.strip_suffix("m3_s") {
        Some(stem) => {
            let cell = match cell {
                Cell::Number(si) => Cell::Number(unit.from_si(si)),
                other => other,
            };
            (Cow::Owned(format!("{stem}{suffix}")), cell)
        }
        None => (name, cell),
    };
    row.into_iter().map(shown).collect()
}

/// A row as JSON.
pub(crate) fn row_to_json(row: &Row) -> Value {
    let cells = row
        .iter()
        .map(|(name, cell)| (name.to_string(), cell.to_json()));
    Value::Object(cells.collect::<Map<String, Value>>())
}

/// The name of a component in the name of a column.
fn column_of(component: Component) -> String {
    component.in_words().replace([' ', '-'], "_")
}

/// The readings that a row may have, with the names of their columns.
const READINGS: [(Channel, &str); 4] = [
    (Channel::TimeDifference, "time_difference_s"),
    (Channel::TransitTime, "transit_time_s"),
    (Channel::VolumeFlow, "indicated_volume_flow_m3_s"),
    (Channel::Velocity, "indicated_velocity_m_s"),
];

impl Plan {
    /// The points as rows, each with the same columns; a point without a result has
    /// `feasible` false, its `reason`, and nothing in the columns of results.
    ///
    /// # Errors
    /// None for a site that was read from a file.
    pub fn rows(&self) -> Result<Vec<Row>> {
        self.points.iter().map(|point| self.row(point)).collect()
    }

    fn row(&self, point: &Point) -> Result<Row> {
        let mut row = Row::new();
        let alternative = &self.alternatives[point.alternative];
        put(&mut row, "alternative", alternative.label.as_str());
        self.put_choices(&mut row, alternative.site.as_ref().ok(), point);
        put(&mut row, "volume_flow_m3_s", point.conditions.volume_flow);
        let stated = point.expected.as_ref().ok();
        let stated = stated.and_then(|e| e.evaluation().liquid_temperature());
        put(
            &mut row,
            "temperature_K",
            point.conditions.temperature.or(stated),
        );
        put(&mut row, "feasible", Cell::Flag(point.expected.is_ok()));
        let reason = point.expected.as_ref().err().map(ToString::to_string);
        put(&mut row, "reason", reason.unwrap_or_default().as_str());
        let expected = point.expected.as_ref().ok();
        let steps = expected.map(|e| *e.steps());
        let step = |pick: fn(&crate::model::Intermediates<f64>) -> f64| steps.as_ref().map(pick);
        put(&mut row, "velocity_m_s", step(|s| s.mean_velocity));
        put(&mut row, "path_velocity_m_s", step(|s| s.path_velocity));
        put(&mut row, "reynolds_number", step(|s| s.reynolds));
        let regime = expected.map_or("", |e| e.evaluation().regime().in_words());
        put(&mut row, "regime", regime);
        put(&mut row, "profile_factor", step(|s| s.profile_factor));
        put(
            &mut row,
            "liquid_sound_speed_m_s",
            step(|s| s.liquid_sound_speed),
        );
        put(
            &mut row,
            "angle_in_liquid_deg",
            step(|s| s.angles()[1].to_degrees()),
        );
        put(&mut row, "spacing_m", step(|s| s.path.spacing));
        put(&mut row, "beam_drift_m", step(|s| s.beam_drift()));
        let other_wave = expected.and_then(|e| e.evaluation().other_wave_received());
        let avoiding =
            other_wave.and_then(|_| expected?.evaluation().wedge_angle_without_other_wave());
        put(
            &mut row,
            "other_wave_flow_error",
            other_wave.map(|arrival| arrival.flow_error),
        );
        put(
            &mut row,
            "wedge_angle_without_other_wave_deg",
            avoiding.map(f64::to_degrees),
        );
        for (channel, name) in READINGS {
            let planned = expected.map(|e| e.planned()).unwrap_or_default();
            let own = planned.iter().find(|reading| reading.channel == channel);
            put(&mut row, name, own.map(|reading| reading.mean));
        }
        let budget = expected.map(|e| e.budget());
        let reached = expected.map(|e| e.expanded()).transpose()?;
        let flow = point.conditions.volume_flow;
        let u = budget.map(|b| b.standard_uncertainty);
        let expanded = reached.map(|e| e.expanded_uncertainty);
        put(&mut row, "standard_uncertainty_m3_s", u);
        put(
            &mut row,
            "relative_standard_uncertainty",
            u.map(|u| u / flow),
        );
        put(&mut row, "effective_dof", budget.map(|b| b.effective_dof));
        put(
            &mut row,
            "coverage_factor",
            reached.map(|e| e.coverage_factor),
        );
        put(&mut row, "expanded_uncertainty_m3_s", expanded);
        put(
            &mut row,
            "relative_expanded_uncertainty",
            expanded.map(|u| u / flow),
        );
        let subtotals = budget.map(|b| b.components());
        let of = |component: Component, pick: fn(&crate::uncertainty::Subtotal) -> f64| {
            let all = subtotals.as_ref()?;
            let own = all.iter().find(|s| s.component == component.in_words());
            Some(own.map_or(0.0, pick))
        };
        for component in Component::ALL {
            let name = format!("share_{}", column_of(component));
            put(&mut row, name, of(component, |s| s.share));
        }
        for component in Component::ALL {
            let name = format!("standard_uncertainty_{}_m3_s", column_of(component));
            put(&mut row, name, of(component, |s| s.contribution));
        }
        let warnings = expected.map(|e| e.warnings()).unwrap_or_default();
        let codes: Vec<&str> = warnings.iter().map(|w| w.code).collect();
        put(&mut row, "warnings", codes.join(", ").as_str());
        Ok(row)
    }

    fn put_choices(&self, row: &mut Row, site: Option<&Site>, point: &Point) {
        let choices = site.map(|site| site.skeleton.choices());
        let traverses = choices.map(|c| c.traverses);
        put_whole(row, "traverses", traverses);
        let path = traverses.map_or("", |n| {
            if n.is_multiple_of(2) {
                "reflected"
            } else {
                "direct"
            }
        });
        put(row, "path", path);
        put(row, "basis", choices.map_or("", |c| c.basis.in_words()));
        let expected = point.expected.as_ref().ok();
        let mounting = site.and_then(|site| site.upstream.as_ref()).zip(expected);
        let mounting = mounting.and_then(|(u, e)| u.mounting(e.steps().inside_diameter).ok());
        put(row, "straight_run_D", mounting.map(|m| m.straight_run));
        let angle = mounting.and_then(|m| m.orientation);
        put(row, "orientation_deg", angle.map(f64::to_degrees));
    }

    /// Contributions as rows: one for each point and input that is not exact.
    pub fn contribution_rows(&self) -> Vec<Row> {
        let mut rows = Vec::new();
        for (i, point) in self.points.iter().enumerate() {
            let Ok(expected) = &point.expected else {
                continue;
            };
            let label = self.alternatives[point.alternative].label.as_str();
            let lines = expected.budget().lines.iter();
            for line in lines.filter(|line| line.input.standard_uncertainty() > 0.0) {
                let mut row = Row::new();
                put(&mut row, "point", Cell::Whole(i as u64));
                put(&mut row, "alternative", label);
                put(&mut row, "volume_flow_m3_s", point.conditions.volume_flow);
                put(&mut row, "temperature_K", point.conditions.temperature);
                put(&mut row, "component", line.input.component());
                put(&mut row, "input", line.input.name());
                put(&mut row, "contribution_m3_s", line.contribution.abs());
                put(&mut row, "share", line.share);
                put(&mut row, "evidence", line.input.evidence());
                rows.push(row);
            }
        }
        rows
    }

    /// The feasible windows as rows.
    ///
    /// # Errors
    /// [`Error::Cancelled`](crate::Error::Cancelled) by the watch, which is told the number of windows done.
    pub fn window_rows(&self, watch: &mut Watch<'_>) -> Result<Vec<Row>> {
        let mut rows = Vec::new();
        for window in self.windows_watched(watch)? {
            let mut row = Row::new();
            let label = self.alternatives[window.alternative].label.as_str();
            put(&mut row, "alternative", label);
            put(&mut row, "temperature_K", window.temperature);
            let ranges = [
                ("", window.feasible.as_ref().ok()),
                ("_without_warning", window.without_warning.as_ref()),
            ];
            for (suffix, range) in ranges {
                let edges = [
                    ("lowest", range.map(|r| &r.lowest)),
                    ("highest", range.map(|r| &r.highest)),
                ];
                for (end, edge) in edges {
                    let flow = format!("{end}_volume_flow{suffix}_m3_s");
                    put(&mut row, flow, edge.map(|e| e.volume_flow));
                    let velocity = format!("{end}_velocity{suffix}_m_s");
                    put(&mut row, velocity, edge.map(|e| e.velocity));
                    let reynolds = format!("{end}_reynolds_number{suffix}");
                    put(&mut row, reynolds, edge.map(|e| e.reynolds));
                    let beyond = edge.map_or("", |e| e.beyond.as_str());
                    let side = if end == "lowest" { "below" } else { "above" };
                    put(&mut row, format!("{side}{suffix}"), beyond);
                }
                let between = range.map_or("", |r| r.between.as_str());
                put(&mut row, format!("between{suffix}"), between);
            }
            let temperatures = window.temperatures.as_ref();
            put(
                &mut row,
                "lowest_temperature_K",
                temperatures.map(|t| t.lowest),
            );
            put(
                &mut row,
                "highest_temperature_K",
                temperatures.map(|t| t.highest),
            );
            let [colder, hotter] = temperatures.map_or(["", ""], |t| [&*t.below, &*t.above]);
            put(&mut row, "colder", colder);
            put(&mut row, "hotter", hotter);
            put(
                &mut row,
                "always_warned",
                window.always_warned.join(", ").as_str(),
            );
            let reason = window.feasible.as_ref().err().map(ToString::to_string);
            put(&mut row, "reason", reason.unwrap_or_default().as_str());
            rows.push(row);
        }
        Ok(rows)
    }
}

fn put_whole(row: &mut Row, name: &'static str, number: Option<u32>) {
    let cell = number.map_or(Cell::Nothing, |n| Cell::Whole(u64::from(n)));
    put(row, name, cell);
}

impl Target {
    /// What is asked of each input as rows.
    pub fn rows(&self) -> Vec<Row> {
        let row = |i: &super::Improvement| {
            let mut row = Row::new();
            let now = i.unit.difference_from_si(i.standard_uncertainty);
            let then = |fraction: Option<f64>| fraction.map(|s| s * now);
            put(&mut row, "input", i.input.as_str());
            put(&mut row, "component", i.component.as_str());
            put(&mut row, "share", i.share);
            put(&mut row, "standard_uncertainty", now);
            put(&mut row, "unit", &*i.unit.of_differences().symbol);
            put(&mut row, "lowest_fraction", i.lowest);
            put(&mut row, "alone_fraction", i.alone);
            put(&mut row, "alone_standard_uncertainty", then(i.alone));
            put(&mut row, "least_effort_fraction", i.least_effort);
            put(
                &mut row,
                "least_effort_standard_uncertainty",
                then(i.least_effort),
            );
            put(&mut row, "cost", i.cost);
            put(&mut row, "held", i.held.unwrap_or_default());
            put(
                &mut row,
                "together_with",
                i.together_with.join(", ").as_str(),
            );
            row
        };
        self.improvements.iter().map(row).collect()
    }
}
