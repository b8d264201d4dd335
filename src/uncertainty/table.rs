//! The budget as a table: rows of numbers, and text for people.

use super::rounding::{dof_in_words, grouped, rounded, rounded_pair};
use super::{Budget, BudgetLine};
use crate::text::shown;
use crate::units::Unit;
use serde::Serialize;
use std::fmt;

/// In which units a table shows its numbers.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Units {
    /// SI units throughout.
    Si,
    /// Each input in the unit in which it was stated, contributions in the unit of the output.
    Shown,
}

/// One line of a budget as plain numbers and words.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[non_exhaustive]
pub struct TableRow {
    /// The component of the budget.
    pub component: String,
    /// The name of the input.
    pub input: String,
    /// The estimate, in `unit`.
    pub estimate: f64,
    /// The standard uncertainty, in `unit` (kelvin for degrees Celsius).
    pub standard_uncertainty: f64,
    /// The unit of estimate and standard uncertainty.
    pub unit: String,
    /// The distribution in words.
    pub distribution: &'static str,
    /// The degrees of freedom; `None` where they are infinite.
    pub dof: Option<f64>,
    /// The sensitivity coefficient, in `sensitivity_unit`.
    pub sensitivity: f64,
    /// The unit of the output over `unit`.
    pub sensitivity_unit: String,
    /// The contribution with its sign, in `contribution_unit`.
    pub contribution: f64,
    /// The unit of the output.
    pub contribution_unit: String,
    /// The relative sensitivity `c_i x_i / y`, the exponent of the input in a product of powers
    /// (JCGM 100:2008, 5.1.6); `None` where the estimate of the output is zero.
    pub relative_sensitivity: Option<f64>,
    /// The contribution over the magnitude of the estimate of the output; `None` where that is
    /// zero.
    pub relative_contribution: Option<f64>,
    /// The share of the variance.
    pub share: f64,
    /// Where the input comes from, in words.
    pub evidence: String,
}

/// A column of the table, by what it has of each row.
#[derive(Debug, Clone, Copy)]
pub enum TableColumn {
    /// Words.
    Words(fn(&TableRow) -> &str),
    /// Numbers: infinite where nothing limits them, NaN where there is none.
    Numbers(fn(&TableRow) -> f64),
}

impl TableRow {
    /// The columns with their names, in the order in which tables show them.
    pub const COLUMNS: [(&'static str, TableColumn); 15] = [
        ("component", TableColumn::Words(|row| &row.component)),
        ("input", TableColumn::Words(|row| &row.input)),
        ("estimate", TableColumn::Numbers(|row| row.estimate)),
        (
            "standard_uncertainty",
            TableColumn::Numbers(|row| row.standard_uncertainty),
        ),
        ("unit", TableColumn::Words(|row| &row.unit)),
        ("distribution", TableColumn::Words(|row| row.distribution)),
        (
            "dof",
            TableColumn::Numbers(|row| row.dof.unwrap_or(f64::INFINITY)),
        ),
        ("sensitivity", TableColumn::Numbers(|row| row.sensitivity)),
        (
            "sensitivity_unit",
            TableColumn::Words(|row| &row.sensitivity_unit),
        ),
        ("contribution", TableColumn::Numbers(|row| row.contribution)),
        (
            "contribution_unit",
            TableColumn::Words(|row| &row.contribution_unit),
        ),
        (
            "relative_sensitivity",
            TableColumn::Numbers(|row| row.relative_sensitivity.unwrap_or(f64::NAN)),
        ),
        (
            "relative_contribution",
            TableColumn::Numbers(|row| row.relative_contribution.unwrap_or(f64::NAN)),
        ),
        ("share", TableColumn::Numbers(|row| row.share)),
        ("evidence", TableColumn::Words(|row| &row.evidence)),
    ];
}

impl BudgetLine {
    fn row(&self, own: &Unit, output: &Unit, y: f64) -> TableRow {
        let input = &self.input;
        let relative = |part: f64| Some(part).filter(|_| y != 0.0);
        TableRow {
            component: input.component().to_owned(),
            input: input.name().to_owned(),
            estimate: own.from_si(input.estimate()),
            standard_uncertainty: own.difference_from_si(input.standard_uncertainty()),
            unit: own.symbol.to_string(),
            distribution: input.distribution().name(),
            dof: Some(input.dof()).filter(|dof| dof.is_finite()),
            sensitivity: self.sensitivity * own.factor / output.factor,
            sensitivity_unit: format!("({})/({})", output.symbol, own.symbol),
            contribution_unit: output.symbol.to_string(),
            contribution: output.difference_from_si(self.contribution),
            relative_sensitivity: relative(self.sensitivity * input.estimate() / y),
            relative_contribution: relative(self.contribution / y.abs()),
            share: self.share,
            evidence: input.evidence().to_owned(),
        }
    }
}

impl Budget {
    /// The lines as rows of a table.
    pub fn rows(&self, units: Units) -> Vec<TableRow> {
        let lines = self.lines.iter();
        match units {
            Units::Shown => lines
                .map(|line| line.row(line.input.unit(), &self.output.unit, self.estimate))
                .collect(),
            Units::Si => {
                let si = |unit: &Unit| Unit::named(unit.si_symbol.clone());
                let output = si(&self.output.unit);
                lines
                    .map(|line| line.row(&si(line.input.unit()), &output, self.estimate))
                    .collect()
            }
        }
    }

    /// The lines as text for a table of people: the component, then input, estimate, standard
    /// uncertainty, unit, distribution, degrees of freedom, sensitivity, contribution and share,
    /// rounded (JCGM 100:2008, 7.2.6), and the evidence.
    pub fn rounded_lines(&self) -> Vec<Vec<String>> {
        let line = |row: &TableRow| {
            let mut line = vec![shown(&row.component).into_owned()];
            line.extend(cells(row));
            line.push(with_grouped_reynolds(&shown(&row.evidence)));
            line
        };
        self.rows(Units::Shown).iter().map(line).collect()
    }

    /// The estimate and its standard uncertainty in the unit of the output.
    pub fn result_shown(&self) -> (f64, f64) {
        let unit = &self.output.unit;
        let u = unit.difference_from_si(self.standard_uncertainty);
        (unit.from_si(self.estimate), u)
    }

    /// The estimate, its standard uncertainty and the unit, rounded for people.
    pub fn result_in_words(&self) -> String {
        let unit = &self.output.unit;
        let (estimate, u) = self.result_shown();
        let (estimate, u) = rounded_pair(estimate, u);
        format!(
            "{}: {}, combined standard uncertainty {}, effective degrees of freedom {}",
            shown(&self.output.name),
            shown(&unit.after(&estimate)),
            shown(&unit.after(&u)),
            dof_in_words(self.effective_dof),
        )
    }
}

const HEADING: [&str; 9] = [
    "input",
    "estimate",
    "std unc.",
    "unit",
    "distribution",
    "dof",
    "sensitivity",
    "contribution",
    "share",
];
/// Columns of words, aligned to the left; numbers are aligned to the right.
const WORDS: [usize; 3] = [0, 3, 4];

/// The cells of a row, rounded: standard uncertainties to two digits (JCGM 100:2008, 7.2.6).
fn cells(row: &TableRow) -> [String; 9] {
    // below the last digit of the result and of its own estimate there is rounding alone
    let is_rounding = |part: f64| part.abs() < 1e-15;
    let without_effect = row.relative_contribution.is_some_and(is_rounding);
    let noise = is_rounding(row.standard_uncertainty / row.estimate.abs().max(1.0));
    let u = match without_effect && noise {
        true => 0.0,
        false => row.standard_uncertainty,
    };
    let contribution = match without_effect {
        true => 0.0,
        false => row.contribution.abs(),
    };
    let (estimate, u) = rounded_pair(row.estimate, u);
    [
        shown(&row.input).into_owned(),
        estimate,
        u,
        shown(&row.unit).into_owned(),
        row.distribution.to_owned(),
        dof_in_words(row.dof.unwrap_or(f64::INFINITY)),
        rounded(row.sensitivity, 3),
        rounded(contribution, 2),
        percent(row.share),
    ]
}

/// Evidence that records hold as `Re = 6.90e5`, as people read it.
fn with_grouped_reynolds(evidence: &str) -> String {
    let mut parts = evidence.split("Re = ");
    let mut text = parts.next().unwrap_or_default().to_owned();
    for part in parts {
        let own = |c: char| c.is_ascii_digit() || matches!(c, '.' | 'e');
        let (number, rest) = part.split_at(part.find(|c| !own(c)).unwrap_or(part.len()));
        let number = match number.parse() {
            Ok(value) if number.contains('e') => grouped(value),
            _ => number.to_owned(),
        };
        text += &format!("Re = {number}{rest}");
    }
    text
}

fn percent(share: f64) -> String {
    format!("{:.1} %", 100.0 * share)
}

impl fmt::Display for Budget {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let rows = self.rows(Units::Shown);
        let body: Vec<(&str, [String; 9])> = rows
            .iter()
            .map(|r| (r.component.as_str(), cells(r)))
            .collect();
        let width = |column: usize| {
            let cells = body.iter().map(|(_, row)| row[column].chars().count());
            cells.max().unwrap_or(0).max(HEADING[column].len())
        };
        let widths: [usize; 9] = std::array::from_fn(width);
        let line = |row: &[String; 9]| {
            let cell = |c: usize| {
                let (text, width) = (&row[c], widths[c]);
                if WORDS.contains(&c) {
                    format!("{text:<width$}")
                } else {
                    format!("{text:>width$}")
                }
            };
            let cells: Vec<String> = (0..row.len()).map(cell).collect();
            cells.join("  ")
        };
        let rule = "-".repeat(widths.iter().sum::<usize>() + 2 * (widths.len() - 1));
        writeln!(f, "{}", line(&HEADING.map(str::to_owned)))?;
        writeln!(f, "{rule}")?;
        for subtotal in self.components() {
            let component = &subtotal.component;
            if !component.is_empty() {
                let heading = shown(component);
                let indent = rule.len().saturating_sub(heading.chars().count());
                writeln!(f, "{heading}{:>indent$}", percent(subtotal.share))?;
            }
            for (_, row) in body.iter().filter(|(own, _)| own == component) {
                writeln!(f, "{}", line(row))?;
            }
        }
        writeln!(f, "{rule}")?;
        write!(f, "{}", self.result_in_words())
    }
}
