//! A quantity as a site file states it: text with a unit, with its uncertainty and its evidence.

use super::certificate::{Certificate, CurvePoint};
use crate::error::{Error, Result};
use crate::model::{Basis, Beyond, Quantity};
use crate::pipe::WallGrid;
use crate::uncertainty::{Input, Shape};
use crate::units::{Dimension, Unit, quantity, written_difference};
use serde::de::value::MapAccessDeserializer;
use serde::de::{MapAccess, Visitor};
use serde::{Deserialize, Deserializer, Serialize};
use std::fmt;

/// What a site file says of one quantity.
///
/// Text alone states a quantity that is taken as exact. A table states the estimate (`value` or
/// `readings`) and its uncertainty in one of the ways in which evidence comes.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub(crate) struct Stated {
    /// The estimate.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub value: Option<String>,
    /// Repeated readings, whose mean is the estimate.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub readings: Option<Vec<String>>,
    /// Readings of a thickness gauge on a grid, ring by ring, for the wall.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub grid: Option<Vec<Vec<String>>>,
    /// The uncertainty.
    #[serde(flatten)]
    pub uncertainty: Instrument,
    /// The uncertainty of the instrument with which readings were taken, a correction of zero.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub instrument: Option<Instrument>,
    /// What only a calibration factor has: points over the flow, drift.
    #[serde(flatten, skip_serializing_if = "Option::is_none")]
    pub certificate: Option<Box<Certificate>>,
}

/// The uncertainty of an estimate, in one of three ways, with its evidence.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Instrument {
    /// A standard uncertainty.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub standard_uncertainty: Option<String>,
    /// An expanded uncertainty; needs `coverage_factor`.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub expanded_uncertainty: Option<String>,
    /// The coverage factor of the expanded uncertainty.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub coverage_factor: Option<f64>,
    /// The half-width of limits; needs `shape`.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub half_width: Option<String>,
    /// The shape of the distribution between the limits.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub shape: Option<Shape>,
    /// The degrees of freedom.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub dof: Option<f64>,
    /// Where this comes from, in words.
    #[serde(
        default,
        skip_serializing_if = "String::is_empty",
        deserialize_with = "crate::site::fit_to_show"
    )]
    pub evidence: String,
}

/// The table form, with all keys on one level as in the file.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Table {
    value: Option<String>,
    readings: Option<Vec<String>>,
    grid: Option<Vec<Vec<String>>>,
    standard_uncertainty: Option<String>,
    expanded_uncertainty: Option<String>,
    coverage_factor: Option<f64>,
    half_width: Option<String>,
    shape: Option<Shape>,
    dof: Option<f64>,
    #[serde(default, deserialize_with = "crate::site::fit_to_show")]
    evidence: String,
    instrument: Option<Instrument>,
    #[serde(default)]
    point: Vec<CurvePoint>,
    correlation: Option<Vec<Vec<f64>>>,
    common: Option<Instrument>,
    beyond: Option<Beyond>,
    drift_per_year: Option<Box<Stated>>,
    age_years: Option<f64>,
}

impl<'de> Deserialize<'de> for Stated {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> std::result::Result<Self, D::Error> {
        struct TextOrTable;
        impl<'de> Visitor<'de> for TextOrTable {
            type Value = Stated;
            fn expecting(&self, f: &mut fmt::Formatter) -> fmt::Result {
                f.write_str("text with a unit such as \"7.1 mm\", or a table with its uncertainty")
            }
            fn visit_str<E>(self, text: &str) -> std::result::Result<Stated, E> {
                Ok(Stated {
                    value: Some(text.to_owned()),
                    ..Stated::default()
                })
            }
            fn visit_map<A: MapAccess<'de>>(self, map: A) -> std::result::Result<Stated, A::Error> {
                let t = Table::deserialize(MapAccessDeserializer::new(map))?;
                Ok(Stated {
                    value: t.value,
                    readings: t.readings,
                    grid: t.grid,
                    uncertainty: Instrument {
                        standard_uncertainty: t.standard_uncertainty,
                        expanded_uncertainty: t.expanded_uncertainty,
                        coverage_factor: t.coverage_factor,
                        half_width: t.half_width,
                        shape: t.shape,
                        dof: t.dof,
                        evidence: t.evidence,
                    },
                    instrument: t.instrument,
                    certificate: Certificate {
                        age_years: t.age_years,
                        beyond: t.beyond,
                        correlation: t.correlation,
                        common: t.common,
                        drift_per_year: t.drift_per_year,
                        point: t.point,
                    }
                    .if_any(),
                })
            }
        }
        deserializer.deserialize_any(TextOrTable)
    }
}

/// The quantity that a statement is of.
#[derive(Clone, Copy)]
pub(crate) struct Subject<'a> {
    /// Its name, which is its path in the file.
    pub(crate) path: &'a str,
    /// The kind of quantity.
    pub(crate) dimension: Dimension,
    /// Its component of the budget.
    pub(crate) component: &'a str,
    /// Whether it may be stated by a grid of wall readings.
    pub(crate) grid: bool,
    /// Whether it is a calibration factor, which may be known point by point and drift.
    pub(crate) certificate: bool,
}

/// Judges an estimate in SI units of what has a name, in the unit in which it is stated.
pub(crate) type Check<'a> = &'a dyn Fn(&str, f64, &Unit) -> Result<()>;

/// The inputs that a statement of a site file stands for.
///
/// # Errors
/// As [`read_stated`], and an estimate that no site can have.
pub(super) fn inputs_of(stated: &Stated, q: Quantity, basis: Basis) -> Result<Vec<Input>> {
    inputs_named(stated, q, &q.path(), basis)
}

/// As [`inputs_of`], under the path that another file has for the quantity.
///
/// # Errors
/// As [`inputs_of`].
pub(super) fn inputs_named(
    stated: &Stated,
    q: Quantity,
    path: &str,
    basis: Basis,
) -> Result<Vec<Input>> {
    let subject = Subject {
        path,
        dimension: q.dimension(),
        component: q.component(basis).in_words(),
        grid: q == Quantity::Wall,
        certificate: matches!(q, Quantity::CalibrationFactor | Quantity::InSituFactor),
    };
    read_stated(stated, &subject, &|path, si, unit| {
        check_range(q, path, si, unit)
    })
}

/// The inputs that a statement stands for: one, a second for the instrument if stated; of a
/// calibration one for each point, and what is added to them. `check` judges the estimates.
///
/// # Errors
/// Text that is not a quantity of the right kind, no estimate, uncertainty stated in more than one way,
/// negative uncertainty; each names the field.
pub(crate) fn read_stated(
    stated: &Stated,
    subject: &Subject<'_>,
    check: Check<'_>,
) -> Result<Vec<Input>> {
    let Some(certificate) = &stated.certificate else {
        return read_one(stated, subject, check);
    };
    let path = subject.path;
    let conflict = |found: &str, allowed: &str| {
        Err(Error::Conflict {
            field: path.to_owned(),
            found: found.to_owned(),
            allowed: allowed.to_owned(),
        })
    };
    if !subject.certificate {
        return conflict(
            "points, drift or age of a calibration",
            "these for a calibration factor only",
        );
    }
    certificate.check(path)?;
    let mut inputs = if certificate.point.is_empty() {
        read_one(stated, subject, check)?
    } else {
        let alone = Stated {
            certificate: stated.certificate.clone(),
            uncertainty: Instrument {
                evidence: stated.uncertainty.evidence.clone(),
                ..Instrument::default()
            },
            ..Stated::default()
        };
        if *stated != alone {
            return conflict(
                "points beside a value, readings or an uncertainty of its own",
                "points with their own values and uncertainties, and `common` for what they share",
            );
        }
        certificate.point_inputs(subject, &stated.uncertainty.evidence, check)?
    };
    inputs.extend(certificate.corrections(subject)?);
    Ok(inputs)
}

/// The inputs of a single value or of readings.
fn read_one(stated: &Stated, subject: &Subject<'_>, check: Check<'_>) -> Result<Vec<Input>> {
    let (path, dimension) = (subject.path, subject.dimension);
    let own_uncertainty = |what: &str| {
        if !stated.uncertainty.is_stated() {
            return Ok(());
        }
        Err(Error::Conflict {
            field: path.to_owned(),
            found: format!("{what} with an uncertainty of their own"),
            allowed: format!(
                "{what}, whose uncertainty is their scatter; the uncertainty of the instrument goes into \
                 `instrument`"
            ),
        })
    };
    let (input, unit) = match (&stated.value, &stated.readings, &stated.grid) {
        (Some(value), None, None) => {
            let read = quantity(value, dimension, path)?;
            (
                stated
                    .uncertainty
                    .around(path, read.si, read.si, dimension)?,
                read.unit,
            )
        }
        (None, Some(texts), None) => {
            own_uncertainty("readings")?;
            let (numbers, unit) = read_all(texts, dimension, &format!("{path}.readings"))?;
            (Input::from_readings(path, &numbers)?, unit)
        }
        (None, None, Some(rings)) if subject.grid => {
            own_uncertainty("a grid of readings")?;
            let (grid, unit) = read_grid(rings)?;
            (grid_input(path, &grid)?, unit)
        }
        (None, None, Some(_)) => {
            return Err(Error::Conflict {
                field: path.to_owned(),
                found: "a grid of readings".to_owned(),
                allowed: "a grid for pipe.wall only".to_owned(),
            });
        }
        (None, None, None) => {
            return Err(Error::Conflict {
                field: path.to_owned(),
                found: "no estimate".to_owned(),
                allowed: "one of `value` and `readings`".to_owned(),
            });
        }
        _ => {
            return Err(Error::Conflict {
                field: path.to_owned(),
                found: if stated.grid.is_some() {
                    "a grid beside another estimate"
                } else {
                    "value and readings"
                }
                .to_owned(),
                allowed: "one of `value` and `readings`".to_owned(),
            });
        }
    };
    check(path, input.estimate(), &unit)?;
    let estimate = input.estimate();
    let input = input.shown_in(unit.clone()).in_component(subject.component);
    let mut inputs = vec![input.evidence_in_words(&stated.uncertainty.evidence)];
    if let Some(instrument) = &stated.instrument {
        inputs.push(correction_of(instrument, subject, estimate, &unit)?);
    }
    Ok(inputs)
}

/// Numbers in SI units of texts, with the unit of the first.
fn read_all(texts: &[String], dimension: Dimension, field: &str) -> Result<(Vec<f64>, Unit)> {
    let read = texts
        .iter()
        .enumerate()
        .map(|(i, text)| quantity(text, dimension, &format!("{field}[{i}]")))
        .collect::<Result<Vec<_>>>()?;
    let numbers = read.iter().map(|r| r.si).collect();
    let unit = read.into_iter().next().map(|r| r.unit);
    Ok((numbers, unit.unwrap_or_else(|| dimension.si_unit())))
}

/// A grid of wall readings with the unit of its first.
pub(super) fn read_grid(rings: &[Vec<String>]) -> Result<(WallGrid, Unit)> {
    let mut numbers = Vec::with_capacity(rings.len());
    let mut unit = Dimension::Length.si_unit();
    for (i, ring) in rings.iter().enumerate() {
        let (ring, own) = read_all(ring, Dimension::Length, &format!("pipe.wall.grid[{i}]"))?;
        numbers.push(ring);
        if i == 0 {
            unit = own;
        }
    }
    Ok((WallGrid::new(&numbers)?, unit))
}

/// The mean wall of a grid. What goes once round the pipe leaves the mean alone, so it is no
/// scatter of it; the residual is.
fn grid_input(path: &str, grid: &WallGrid) -> Result<Input> {
    let n = grid.readings as f64;
    let scatter = match grid.eccentric.as_ref().and_then(|e| e.residual) {
        Some(residual) => Some((residual, n - 3.0)),
        None => grid.standard_deviation.map(|s| (s, n - 1.0)),
    };
    let Some((deviation, dof)) = scatter else {
        return Err(Error::Length {
            field: format!("{path}.grid"),
            found: grid.readings,
            allowed: "2 readings or more".to_owned(),
        });
    };
    Input::with_standard_uncertainty(path, grid.mean, deviation / n.sqrt(), dof)
}

/// The input that carries the uncertainty of the instrument of a quantity of a site.
pub(super) fn instrument_input(
    instrument: &Instrument,
    q: Quantity,
    basis: Basis,
    estimate: f64,
    unit: &Unit,
) -> Result<Input> {
    let subject = Subject {
        path: &q.path(),
        dimension: q.dimension(),
        component: q.component(basis).in_words(),
        grid: false,
        certificate: false,
    };
    correction_of(instrument, &subject, estimate, unit)
}

/// The input that carries the uncertainty of an instrument: a correction of zero, added to the reading.
/// Percentages are of `estimate`.
fn correction_of(
    instrument: &Instrument,
    subject: &Subject<'_>,
    estimate: f64,
    unit: &Unit,
) -> Result<Input> {
    let name = format!("{}.instrument", subject.path);
    let input = instrument.around(&name, 0.0, estimate, subject.dimension)?;
    Ok(input
        .shown_in(unit.of_differences())
        .in_component(subject.component)
        .evidence_in_words(&instrument.evidence))
}

/// Estimates that no site can have, whatever the rest of the file says.
fn check_range(q: Quantity, path: &str, si: f64, unit: &Unit) -> Result<()> {
    let (inside, allowed) = q.row().allowed.judge(si, unit);
    Error::range(inside, path, unit.from_si(si), &unit.symbol, allowed)
}

impl Instrument {
    fn is_stated(&self) -> bool {
        self.standard_uncertainty.is_some()
            || self.expanded_uncertainty.is_some()
            || self.half_width.is_some()
            || self.coverage_factor.is_some()
            || self.shape.is_some()
            || self.dof.is_some()
    }

    /// `estimate` with this uncertainty; percentages are of `relative_to`.
    pub(super) fn around(
        &self,
        name: &str,
        estimate: f64,
        relative_to: f64,
        dimension: Dimension,
    ) -> Result<Input> {
        let dof = self.dof.unwrap_or(f64::INFINITY);
        let uncertainty = |text: &str, key: &str| {
            let field = format!("{name}.{key}");
            let read = written_difference(text, relative_to, dimension, &field)?;
            let shown = read.unit.from_si(read.si);
            Error::range(
                read.si >= 0.0,
                field,
                shown,
                &read.unit.symbol,
                "0 or above",
            )?;
            Ok(read.si)
        };
        let conflict = |found: &str, allowed: &str| {
            Err(Error::Conflict {
                field: name.to_owned(),
                found: found.to_owned(),
                allowed: allowed.to_owned(),
            })
        };
        let ways = (
            &self.standard_uncertainty,
            &self.expanded_uncertainty,
            &self.half_width,
        );
        if self.coverage_factor.is_some() && self.expanded_uncertainty.is_none() {
            return conflict(
                "coverage_factor alone",
                "coverage_factor with expanded_uncertainty",
            );
        }
        if self.shape.is_some() && self.half_width.is_none() {
            return conflict("shape alone", "shape with half_width");
        }
        match ways {
            (None, None, None) if self.dof.is_some() => conflict(
                "dof alone",
                "dof with a standard or expanded uncertainty or half_width",
            ),
            (None, None, None) => Input::exact(name, estimate),
            (Some(u), None, None) => {
                let u = uncertainty(u, "standard_uncertainty")?;
                Input::with_standard_uncertainty(name, estimate, u, dof)
            }
            (None, Some(expanded), None) => {
                let Some(k) = self.coverage_factor else {
                    return conflict(
                        "expanded_uncertainty alone",
                        "expanded_uncertainty with coverage_factor",
                    );
                };
                let expanded = uncertainty(expanded, "expanded_uncertainty")?;
                Input::with_expanded_uncertainty(name, estimate, expanded, k, dof)
            }
            (None, None, Some(half_width)) => {
                let Some(shape) = self.shape else {
                    return conflict(
                        "half_width alone",
                        "half_width with shape = \"rectangular\", \"triangular\" or \"arcsine\"",
                    );
                };
                let half_width = uncertainty(half_width, "half_width")?;
                Input::with_half_width(name, estimate, half_width, shape, dof)
            }
            _ => conflict(
                "uncertainty stated in more than one way",
                "one of standard_uncertainty, expanded_uncertainty and half_width",
            ),
        }
    }
}
