//! Plans and targets in words and as JSON.

use super::point_row::row_to_json;
use super::{Plan, Point, Range, Target, Window};
use crate::error::Result;
use crate::uncertainty::{counted, grouped, plain, rounded, rounded_pair};
use crate::units::Unit;
use crate::watch::{Watch, unwatched};
use serde_json::{Value, json};
use std::fmt::Write as _;

/// A ratio in percent with two significant digits.
pub(super) fn percent(ratio: f64) -> String {
    format!("{} %", rounded(100.0 * ratio, 2))
}

pub(super) fn celsius(temperature: Option<f64>) -> String {
    temperature.map_or_else(
        || "temperature as stated".to_owned(),
        |t| format!("{} degC", plain(t - 273.15)),
    )
}

impl Plan {
    /// The expected uncertainties as text for a terminal, with the ways to targets where they are
    /// given, as [`Plan::targets`] makes them.
    ///
    /// # Errors
    /// None for a site that was read from a file.
    pub fn in_words(&self, targets: Option<&[Option<Target>]>) -> Result<String> {
        self.in_words_watched(targets, &mut unwatched)
    }

    /// As [`Plan::in_words`], with a watch that is told the number of windows done and may end it.
    ///
    /// # Errors
    /// [`Error::Cancelled`](crate::Error::Cancelled).
    pub fn in_words_watched(
        &self,
        targets: Option<&[Option<Target>]>,
        watch: &mut Watch<'_>,
    ) -> Result<String> {
        let mut text = format!(
            "{}\nexpected expanded uncertainty, coverage probability {} %; planned, nothing was \
             measured\n",
            self.site.name,
            plain(100.0 * self.site.coverage_probability)
        );
        let comparison = self.comparison()?;
        if self.compares() {
            // writing to a String cannot fail
            let _ = write!(text, "\nalternatives by rank\n{}", comparison.in_words());
        }
        let mut section = None;
        for (i, point) in self.points.iter().enumerate() {
            let own = (point.alternative, point.conditions.temperature);
            if section != Some(own) {
                section = Some(own);
                let label = &self.alternatives[point.alternative].label;
                let at = celsius(point.conditions.temperature);
                let _ = writeln!(text, "\n{label}, {at}");
                let head = ["flow", "m/s", "Re", "U", "leading components"];
                let [flow, velocity, reynolds, uncertainty, leading] = head;
                let _ = writeln!(
                    text,
                    "{flow:>14}  {velocity:>8}  {reynolds:>9}  {uncertainty:>8}  {leading}"
                );
            }
            text += &self.line(point)?;
            if let Some(Some(target)) = targets.map(|all| &all[i]) {
                let _ = writeln!(text, "{:>14}  {}", "", target.headline());
            }
        }
        let remarks = comparison.remarks_in_words();
        if !remarks.is_empty() {
            let _ = write!(text, "\nwarnings, each once\n{remarks}");
        }
        let _ = writeln!(text, "\nfeasible window");
        text += &self.windows_in_words(&self.windows_watched(watch)?);
        Ok(text)
    }

    /// Windows in words, those that are alike together.
    fn windows_in_words(&self, windows: &[Window]) -> String {
        let mut told: Vec<(Option<f64>, String, Vec<usize>)> = Vec::new();
        for window in windows {
            let (at, words) = (window.temperature, self.window_in_words(window));
            let alike = |(other, own, _): &&mut (Option<f64>, String, Vec<usize>)| {
                *other == at && without_long_figures(own) == without_long_figures(&words)
            };
            match told.iter_mut().find(alike) {
                Some((_, _, alternatives)) => alternatives.push(window.alternative),
                None => told.push((at, words, vec![window.alternative])),
            }
        }
        let mut text = String::new();
        for (at, words, alternatives) in told {
            let at = celsius(at);
            let labels = alternatives.iter().map(|i| &*self.alternatives[*i].label);
            let labels = match alternatives.len() {
                n if n > 1 && n == self.alternatives.len() => "all alternatives".to_owned(),
                _ => labels.collect::<Vec<_>>().join("; "),
            };
            // writing to a String cannot fail
            let _ = write!(text, "  {labels}, {at}: {words}");
        }
        text
    }

    /// Points rounded for display: flow in the site's unit, temperature, velocity in m/s, Reynolds
    /// number and relative expanded uncertainty; the last three are empty without a result.
    ///
    /// # Errors
    /// None for a site that was read from a file.
    pub fn shown(&self) -> Result<Vec<[String; 5]>> {
        self.points
            .iter()
            .map(|point| self.shown_point(point))
            .collect()
    }

    fn shown_point(&self, point: &Point) -> Result<[String; 5]> {
        let unit = &self.site.flow_unit;
        let conditions = &point.conditions;
        let flow = unit.after(&plain(unit.from_si(conditions.volume_flow)));
        let temperature = celsius(conditions.temperature);
        let [velocity, reynolds, uncertainty] = match &point.expected {
            Err(_) => Default::default(),
            Ok(expected) => {
                let u = expected.expanded()?.expanded_uncertainty;
                let steps = expected.steps();
                [
                    rounded(steps.mean_velocity, 3),
                    grouped(steps.reynolds),
                    percent(u / conditions.volume_flow),
                ]
            }
        };
        Ok([flow, temperature, velocity, reynolds, uncertainty])
    }

    fn line(&self, point: &Point) -> Result<String> {
        let [flow, _, velocity, reynolds, uncertainty] = self.shown_point(point)?;
        let expected = match &point.expected {
            Ok(expected) => expected,
            Err(_) => return Ok(format!("{flow:>14}  no measurement\n")),
        };
        let mut components = expected.budget().components();
        components.sort_by(|a, b| b.share.total_cmp(&a.share));
        let leading: Vec<String> = components
            .iter()
            .take(3)
            .map(|s| format!("{} {:.0} %", s.component, 100.0 * s.share))
            .collect();
        let leading = leading.join(", ");
        Ok(format!(
            "{flow:>14}  {velocity:>8}  {reynolds:>9}  {uncertainty:>8}  {leading}\n"
        ))
    }

    fn window_in_words(&self, window: &Window) -> String {
        let mut text = String::new();
        match &window.feasible {
            Err(why) => text += &format!("none: {why}\n"),
            Ok(range) => {
                text += &range_in_words(range, &self.site.flow_unit);
                text += "\n";
                if !window.always_warned.is_empty() {
                    text += &format!(
                        "    warned of at every flow: {}\n",
                        window.always_warned.join(", ")
                    );
                }
                match &window.without_warning {
                    Some(quiet) if quiet == range => {}
                    Some(quiet) => {
                        let quiet = range_in_words(quiet, &self.site.flow_unit);
                        text += &format!("    without warnings of the flow {quiet}\n");
                    }
                    None => text += "    nowhere without a warning of the flow\n",
                }
            }
        }
        if let Some(t) = &window.temperatures {
            // a tenth of a degree, so that water does not freeze at a millionth of one
            let tenths = |t: f64| plain((10.0 * (t - 273.15)).round() / 10.0);
            let [lowest, highest] = [t.lowest, t.highest].map(tenths);
            text += &format!("    sound path and liquid from {lowest} to {highest} degC");
            for (side, why) in [("colder", &t.below), ("hotter", &t.above)] {
                if !why.is_empty() {
                    text += &format!("; {side}: {why}");
                }
            }
            text += "\n";
        }
        text
    }

    /// Everything as JSON text, all numbers in SI units and with every bit; infinite degrees of freedom
    /// are `null`.
    ///
    /// # Errors
    /// None for a site that was read from a file.
    pub fn to_json(&self, targets: Option<&[Option<Target>]>) -> Result<String> {
        self.to_json_watched(targets, &mut unwatched)
    }

    /// As [`Plan::to_json`], with a watch that is told the number of windows done and may end it.
    ///
    /// # Errors
    /// [`Error::Cancelled`](crate::Error::Cancelled).
    pub fn to_json_watched(
        &self,
        targets: Option<&[Option<Target>]>,
        watch: &mut Watch<'_>,
    ) -> Result<String> {
        let rows = self.rows()?;
        let points: Vec<Value> = rows.iter().map(row_to_json).collect();
        let rows = self.contribution_rows();
        let contributions: Vec<Value> = rows.iter().map(row_to_json).collect();
        let windows: Vec<Value> = self.window_rows(watch)?.iter().map(row_to_json).collect();
        let targets = targets.map(|targets| {
            let one = |target: &Option<Target>| target.as_ref().map(Target::as_json);
            targets.iter().map(one).collect::<Vec<_>>()
        });
        let all = json!({
            "software": format!("flowdoubt {}", env!("CARGO_PKG_VERSION")),
            "site": self.site.name,
            "planned": true,
            "coverage_probability": self.site.coverage_probability,
            "readings": self.repeatability.readings(),
            "comparison": self.comparison()?.as_json(),
            "points": points,
            "contributions": contributions,
            "windows": windows,
            "targets": targets,
        });
        Ok(format!("{all:#}"))
    }
}

/// Words without figures of more digits than are shown of a window: where an edge was found is no
/// difference.
fn without_long_figures(words: &str) -> String {
    let long = |part: &str| part.len() > 7 && part.starts_with(|c: char| c.is_ascii_digit());
    let kept = words.split(' ').filter(|part| !long(part));
    kept.collect::<Vec<_>>().join(" ")
}

fn range_in_words(range: &Range, unit: &Unit) -> String {
    let flow = |si: f64| rounded(unit.from_si(si), 3);
    let mut text = format!(
        "{} to {} {}, {} to {} m/s, Reynolds number {} to {}",
        flow(range.lowest.volume_flow),
        flow(range.highest.volume_flow),
        unit.symbol,
        rounded(range.lowest.velocity, 3),
        rounded(range.highest.velocity, 3),
        grouped(range.lowest.reynolds),
        grouped(range.highest.reynolds),
    );
    if !range.between.is_empty() {
        text += &format!("; between them: {}", range.between);
    }
    for (side, edge) in [("below", &range.lowest), ("above", &range.highest)] {
        if !edge.beyond.is_empty() {
            text += &format!("; {side}: {}", edge.beyond);
        }
    }
    text
}

impl Target {
    /// What it takes, in one line.
    pub fn headline(&self) -> String {
        let relative = |u: f64| percent(u / self.estimate.abs());
        let wanted = relative(self.wanted);
        match &self.least_effort {
            Some(_) if self.is_met() => format!("target {wanted}: met without improvement"),
            Some(way) => {
                let changed = self.improvements.iter();
                let changed = changed.filter(|i| i.least_effort.is_some_and(|s| s < 1.0));
                format!(
                    "target {wanted}: least effort {}, {} improved",
                    rounded(way.effort, 3),
                    counted(changed.count(), "input")
                )
            }
            None => format!(
                "target {wanted}: cannot be reached; {} is left with every input at its lowest",
                relative(self.lowest.expanded_uncertainty)
            ),
        }
    }

    /// What is asked of each input, as text for a terminal.
    pub fn in_words(&self) -> String {
        let (estimate, before) = rounded_pair(
            self.unit.from_si(self.estimate),
            self.unit
                .difference_from_si(self.before.expanded_uncertainty),
        );
        let mut text = format!(
            "expected ({estimate} +/- {before}) {}, coverage factor {:.2}\n{}\n",
            self.unit.symbol,
            self.before.coverage_factor,
            self.headline()
        );
        if let Some(way) = &self.least_effort {
            let _ = writeln!(
                text,
                "coverage factor of the improved budget {:.2}",
                way.expanded.coverage_factor
            );
        }
        let rows = self.shown();
        let width = |c: usize| rows.iter().map(|row| row[c].len()).max().unwrap_or(0);
        let [name, unit] = [width(0).max(23), width(5).max(4)];
        let line = |[input, share, now, alone, together, unit_of, why]: [&str; 7]| {
            let line = format!(
                "{input:name$}  {share:>6}  {now:>10}  {alone:>10}  {together:>12}  \
                 {unit_of:unit$}  {why}"
            );
            line.trim_end().to_owned() + "\n"
        };
        text += &line(Self::COLUMNS);
        for row in &rows {
            text += &line(std::array::from_fn(|c| row[c].as_str()));
        }
        text
    }

    /// The headings of [`Target::shown`].
    const COLUMNS: [&str; 7] = [
        "standard uncertainty of",
        "share",
        "now",
        "alone",
        "least effort",
        "unit",
        "",
    ];

    /// What is asked of each input, rounded for display: the input, its share of the variance, its
    /// standard uncertainty now, alone and with the least effort, their unit, and remarks.
    pub fn shown(&self) -> Vec<Vec<String>> {
        let row = |i: &super::Improvement| {
            let u = |fraction: f64| {
                rounded(
                    i.unit.difference_from_si(fraction * i.standard_uncertainty),
                    2,
                )
            };
            let alone = match (i.held, i.alone) {
                (Some(_), _) => "held".to_owned(),
                (None, Some(s)) => u(s),
                (None, None) => "not enough".to_owned(),
            };
            let together = i.least_effort.filter(|_| i.held.is_none());
            let with = match i.together_with.as_slice() {
                [] => String::new(),
                others => format!("with {}", others.join(", ")),
            };
            let remarks = [with, i.held.unwrap_or_default().to_owned()];
            let remarks: Vec<String> = remarks.into_iter().filter(|r| !r.is_empty()).collect();
            vec![
                i.input.clone(),
                format!("{:.1} %", 100.0 * i.share),
                u(1.0),
                alone,
                together.map_or_else(|| "-".to_owned(), u),
                i.unit.symbol.to_string(),
                remarks.join("; "),
            ]
        };
        self.improvements.iter().map(row).collect()
    }

    /// Everything as JSON text, in SI units.
    pub fn to_json(&self) -> String {
        format!("{:#}", self.as_json())
    }

    fn as_json(&self) -> Value {
        let rows: Vec<Value> = self.rows().iter().map(row_to_json).collect();
        json!({
            "volume_flow_m3_s": self.estimate,
            "wanted_m3_s": self.wanted,
            "reachable": self.is_reachable(),
            "expanded_uncertainty_m3_s": self.before.expanded_uncertainty,
            "lowest_expanded_uncertainty_m3_s": self.lowest.expanded_uncertainty,
            "effort": self.least_effort.as_ref().map(|way| way.effort),
            "improved_expanded_uncertainty_m3_s":
                self.least_effort.as_ref().map(|way| way.expanded.expanded_uncertainty),
            "improved_coverage_factor":
                self.least_effort.as_ref().map(|way| way.expanded.coverage_factor),
            "improvements": rows,
        })
    }
}
