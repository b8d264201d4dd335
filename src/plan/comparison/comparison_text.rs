//! Alternatives side by side as rows, in words and as JSON.

use super::effort::CONVENTION;
use super::{Compared, Comparison, Effort, Fit, Placed, Remark};
use crate::plan::plan_text::{celsius, percent};
use crate::plan::point_row::{Cell, Row, put, row_to_json};
use crate::plan::{Conditions, Wanted};
use crate::uncertainty::plain;
use crate::units::Unit;
use serde_json::{Value, json};
use std::fmt::Write as _;

impl Wanted {
    /// The wanted expanded uncertainty in words, flows in a unit.
    pub fn in_words(&self, unit: &Unit) -> String {
        match self {
            Wanted::Relative(ratio) => format!("{} %", plain(100.0 * ratio)),
            Wanted::Absolute(si) => {
                let unit = unit.of_differences();
                unit.after(&plain(unit.from_si(*si)))
            }
        }
    }
}

impl Conditions {
    /// Flow in a unit, and the temperature where it is not as stated.
    fn in_words(&self, unit: &Unit) -> String {
        let flow = unit.after(&plain(unit.from_si(self.volume_flow)));
        match self.temperature {
            Some(_) => format!("{flow}, {}", celsius(self.temperature)),
            None => flow,
        }
    }
}

impl Comparison {
    /// The alternatives as rows by rank, each with the same columns.
    pub fn rows(&self) -> Vec<Row> {
        let ranked = self.ranked().into_iter();
        ranked.map(|i| self.row(&self.alternatives[i])).collect()
    }

    fn row(&self, one: &Compared) -> Row {
        let mut row = Row::new();
        let at = one.largest.map(|largest| self.conditions[largest.at]);
        let [shortest, longest] = match one.placed {
            Some(placed) => placed.spacing.map(Some),
            None => [None; 2],
        };
        put(&mut row, "alternative", one.label.as_str());
        put(
            &mut row,
            "rank_by_uncertainty",
            whole(one.rank_by_uncertainty),
        );
        put(&mut row, "rank_by_effort", whole(one.rank_by_effort));
        put(&mut row, "rank_by_spacing", whole(one.rank_by_spacing));
        let largest = one.largest.map(|largest| largest.relative);
        put(&mut row, "relative_expanded_uncertainty_largest", largest);
        put(&mut row, "at_volume_flow_m3_s", at.map(|at| at.volume_flow));
        put(
            &mut row,
            "at_temperature_K",
            at.and_then(|at| at.temperature),
        );
        put(
            &mut row,
            "relative_expanded_uncertainty_typical",
            one.typical,
        );
        put(&mut row, "points", whole(self.conditions.len()));
        put(&mut row, "points_measurable", whole(one.measurable));
        let on_target = one.on_target.map_or(Cell::Nothing, whole);
        put(&mut row, "points_on_target", on_target);
        put(&mut row, "on_target", flag(self.is_on_target(one)));
        put(&mut row, "effort", one.effort.as_ref().map(Effort::total));
        let parts = one.effort.as_ref().map(Effort::in_words);
        put(&mut row, "effort_for", parts.unwrap_or_default().as_str());
        put(&mut row, "shortest_spacing_m", shortest);
        put(&mut row, "longest_spacing_m", longest);
        let length = one.placed.and_then(|placed| placed.length());
        put(&mut row, "length_needed_m", length);
        put(&mut row, "fits", flag(one.fit.fits()));
        put(&mut row, "spare_length_m", one.fit.spare());
        put(&mut row, "fit_reason", one.fit.reason());
        row
    }

    /// Warnings and refusals as rows, one for each that is told: its code, `kind`, words, and what it
    /// belongs to.
    pub fn remark_rows(&self) -> Vec<Row> {
        let row = |remark: &Remark| {
            let mut row = Row::new();
            put(&mut row, "code", remark.code);
            put(&mut row, "kind", remark.kind());
            put(&mut row, "words", remark.words.as_str());
            put(
                &mut row,
                "has_other_figures",
                Cell::Flag(remark.has_other_figures),
            );
            put(&mut row, "belongs_to", self.belongs_to(remark).as_str());
            row
        };
        self.remarks.iter().map(row).collect()
    }

    /// The headings of [`Comparison::shown`]; columns that would be empty are left out.
    pub fn headings(&self) -> Vec<String> {
        self.columns().into_iter().map(|(name, _)| name).collect()
    }

    /// The alternatives by rank, rounded for display, under [`Comparison::headings`].
    pub fn shown(&self) -> Vec<Vec<String>> {
        let columns = self.columns();
        let line = |i: usize| {
            let one = &self.alternatives[i];
            columns.iter().map(|(_, cell)| cell(self, one)).collect()
        };
        self.ranked().into_iter().map(line).collect()
    }

    fn columns(&self) -> Vec<(String, CellOf)> {
        let any = |has: fn(&Compared) -> bool| self.alternatives.iter().any(has);
        let all = self.conditions.len();
        let in_part = self.alternatives.iter().any(|one| one.measurable < all);
        let target = self.wanted.map(|wanted| {
            let wanted = wanted.in_words(&self.flow_unit);
            format!("target {wanted}")
        });
        let columns: [(bool, &str, CellOf); 12] = [
            (true, "rank by U", |_, one| {
                one.rank_by_uncertainty.to_string()
            }),
            (true, "alternative", |_, one| one.label.clone()),
            (true, "largest U", |_, one| {
                one.largest
                    .map_or_else(String::new, |u| percent(u.relative))
            }),
            (all > 1, "at", |all, one| {
                one.largest
                    .map_or_else(String::new, |u| all.condition(u.at))
            }),
            (all > 1, "typical U", |_, one| {
                one.typical.map_or_else(String::new, percent)
            }),
            (in_part, "can be measured", |all, one| {
                count(
                    one.measurable,
                    all.conditions.len(),
                    ["everywhere", "nowhere"],
                )
            }),
            (
                target.is_some(),
                target.as_deref().unwrap_or_default(),
                |all, one| {
                    let met = one.on_target.unwrap_or(0);
                    count(met, all.conditions.len(), ["reached", "not reached"])
                },
            ),
            (
                any(|one| one.effort.is_some()),
                self.effort_in_words(),
                |_, one| one.effort.as_ref().map_or_else(String::new, Effort::shown),
            ),
            (
                any(|one| one.effort.is_some()),
                "rank by effort",
                |_, one| one.rank_by_effort.to_string(),
            ),
            (any(|one| one.placed.is_some()), "spacing", |_, one| {
                one.placed.map_or_else(String::new, |placed| placed.shown())
            }),
            (
                any(|one| one.placed.is_some()),
                "rank by spacing",
                |_, one| one.rank_by_spacing.to_string(),
            ),
            (any(|one| one.fit != Fit::NotAsked), "fits", |_, one| {
                one.fit.shown()
            }),
        ];
        let columns = columns.into_iter().filter(|(shown, ..)| *shown);
        columns
            .map(|(_, name, cell)| (name.to_owned(), cell))
            .collect()
    }

    /// What must be known to read the table, and what follows from it, one sentence each.
    pub fn notes(&self) -> Vec<String> {
        let mut notes = Vec::new();
        if self.conditions.len() > 1 {
            notes.push(format!(
                "U: expanded uncertainty relative to the flow; typical: the median over {} points",
                self.conditions.len()
            ));
        } else {
            notes.push("U: expanded uncertainty relative to the flow".to_owned());
        }
        if self.counted && self.alternatives.iter().any(|one| one.effort.is_some()) {
            notes.push(CONVENTION.to_owned());
        }
        notes.extend(self.fits_in_words());
        notes.extend(self.conclusion());
        notes
    }

    /// What stands in the way of alternatives, those with the same reason together.
    fn fits_in_words(&self) -> Vec<String> {
        let mut reasons: Vec<(&Fit, Vec<&str>)> = Vec::new();
        for one in &self.alternatives {
            let own = reasons.iter_mut().find(|(fit, _)| **fit == one.fit);
            match own {
                Some((_, labels)) => labels.push(&one.label),
                None if one.fit.reason().is_empty() => {}
                None => reasons.push((&one.fit, vec![&one.label])),
            }
        }
        let told = reasons.iter().map(|(fit, labels)| {
            let what = match fit.fits() {
                Some(false) => "does not fit",
                _ => "not known whether it fits",
            };
            format!("{what}: {} ({})", labels.join("; "), fit.reason())
        });
        let mut told: Vec<String> = told.collect();
        if reasons.iter().any(|(fit, _)| fit.fits() == Some(false)) {
            told.push("what does not fit is ranked after all that does".to_owned());
        }
        told
    }

    /// What the effort is called: that of mounting is counted, a caller's may be any.
    fn effort_in_words(&self) -> &'static str {
        if self.counted {
            "mounting effort"
        } else {
            "effort"
        }
    }

    /// Which alternative reaches the target with the least effort, or how near they come.
    pub fn conclusion(&self) -> Option<String> {
        let wanted = self.wanted?.in_words(&self.flow_unit);
        if let Some(one) = self.least_effort_on_target() {
            let effort = one.effort.as_ref();
            let name = self.effort_in_words();
            let effort = effort.map_or_else(String::new, |e| format!(", {name} {}", e.shown()));
            let largest = one
                .largest
                .map_or_else(String::new, |u| percent(u.relative));
            return Some(format!(
                "least {name} that reaches the target {wanted}: {} (U {largest} at most{effort})",
                one.label
            ));
        }
        let best = self
            .ranked()
            .into_iter()
            .map(|i| &self.alternatives[i])
            .next();
        let best = best.filter(|one| one.fit.fits() != Some(false));
        let nearest = best.and_then(|one| Some((one, one.largest?)));
        let nearest = nearest.map_or_else(String::new, |(one, u)| {
            format!(
                "; nearest: {} (U {} at most)",
                one.label,
                percent(u.relative)
            )
        });
        Some(format!(
            "no alternative reaches the target {wanted} as it is at every point{nearest}"
        ))
    }

    /// A flow, with its temperature where there are several.
    fn condition(&self, i: usize) -> String {
        let own = self.conditions[i];
        let first = self.conditions[0].temperature;
        if self
            .conditions
            .iter()
            .all(|other| other.temperature == first)
        {
            return Conditions {
                temperature: None,
                ..own
            }
            .in_words(&self.flow_unit);
        }
        own.in_words(&self.flow_unit)
    }

    /// To which alternatives and flows a remark belongs: `all`, or a list.
    pub fn belongs_to(&self, remark: &Remark) -> String {
        let all = self.conditions.len();
        let everywhere = |conditions: &[usize]| conditions.len() == all;
        let whole = remark.belongs_to.len() == self.alternatives.len();
        if whole && remark.belongs_to.iter().all(|(_, own)| everywhere(own)) {
            return "all".to_owned();
        }
        let points = |own: &[usize]| match own.len() {
            n if n == all => "all".to_owned(),
            n if n > MOST_LISTED => format!("{n} of {all} points"),
            _ => {
                let own: Vec<String> = own.iter().map(|i| self.condition(*i)).collect();
                own.join("; ")
            }
        };
        let first = &remark.belongs_to[0].1;
        if whole && remark.belongs_to.iter().all(|(_, own)| own == first) {
            return format!("all alternatives at {}", points(first));
        }
        let own = remark.belongs_to.iter().map(|(i, own)| {
            let label = &self.alternatives[*i].label;
            format!("{label}: {}", points(own))
        });
        own.collect::<Vec<_>>().join(" | ")
    }

    /// Remarks in words, each once: what kind it is, its words, and what it belongs to.
    pub fn remarks_shown(&self) -> Vec<[String; 3]> {
        let one = |remark: &Remark| {
            let kind = if remark.is_refusal {
                remark.kind().to_owned()
            } else {
                format!("{} ({})", remark.kind(), remark.code)
            };
            let mut at = self.belongs_to(remark);
            if remark.has_other_figures {
                let (alternative, conditions) = &remark.belongs_to[0];
                let label = &self.alternatives[*alternative].label;
                let condition = self.condition(conditions[0]);
                at += &format!(" (figures are those of {label} at {condition})");
            }
            [kind, remark.words.clone(), at]
        };
        self.remarks.iter().map(one).collect()
    }

    /// The alternatives side by side as text for a terminal, without remarks.
    pub fn in_words(&self) -> String {
        let mut lines = vec![self.headings()];
        lines.extend(self.shown());
        let width = |c: usize| lines.iter().map(|line| line[c].chars().count()).max();
        let widths: Vec<usize> = (0..lines[0].len()).map(|c| width(c).unwrap_or(0)).collect();
        let mut text = String::new();
        for line in &lines {
            let cells = line.iter().zip(&widths).enumerate();
            let cells = cells.map(|(c, (cell, width))| match c {
                1 => format!("{cell:width$}"),
                _ => format!("{cell:>width$}"),
            });
            let line = cells.collect::<Vec<_>>().join("  ");
            text += line.trim_end();
            text += "\n";
        }
        for note in self.notes() {
            // writing to a String cannot fail
            let _ = writeln!(text, "{note}");
        }
        text
    }

    /// Remarks as text for a terminal, each once.
    pub fn remarks_in_words(&self) -> String {
        let mut text = String::new();
        for [kind, words, at] in self.remarks_shown() {
            let _ = writeln!(text, "{kind}: {words}\n    for: {at}");
        }
        text
    }

    /// Everything as JSON text, all numbers in SI units.
    pub fn to_json(&self) -> String {
        format!("{:#}", self.as_json())
    }

    pub(in crate::plan) fn as_json(&self) -> Value {
        let rows = |rows: Vec<Row>| rows.iter().map(row_to_json).collect::<Vec<Value>>();
        json!({
            "alternatives": rows(self.rows()),
            "effort_counted": self.counted,
            "least_effort_on_target": self.least_effort_on_target().map(|one| &one.label),
            "remarks": rows(self.remark_rows()),
        })
    }
}

/// What stands in a cell of a column.
type CellOf = fn(&Comparison, &Compared) -> String;

/// Conditions that are listed one by one; more are counted.
const MOST_LISTED: usize = 6;

impl Remark {
    /// What kind it is, in words.
    pub fn kind(&self) -> &'static str {
        if self.is_refusal {
            "no measurement"
        } else {
            "warning"
        }
    }
}

impl Placed {
    fn shown(&self) -> String {
        let [shortest, longest] = self.spacing.map(|m| format!("{:.0}", 1e3 * m));
        if shortest == longest {
            return format!("{longest} mm");
        }
        format!("{shortest} to {longest} mm")
    }
}

fn whole(number: usize) -> Cell {
    Cell::Whole(number as u64)
}

fn flag(flag: Option<bool>) -> Cell {
    flag.map_or(Cell::Nothing, Cell::Flag)
}

fn count(number: usize, all: usize, [every, none]: [&str; 2]) -> String {
    match number {
        n if n == all => every.to_owned(),
        0 => none.to_owned(),
        n => format!("at {n} of {all}"),
    }
}
