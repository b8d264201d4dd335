//! What a calibration certificate says of a factor: point by point over the flow, what is common to
//! all points, and how the factor drifts.

use super::stated_quantity::{Check, Instrument, Stated, Subject, read_stated};
use crate::error::{Error, Result};
use crate::model::{Beyond, FactorCurve, Over};
use crate::scalar::PiecewiseLinear;
use crate::uncertainty::{Correlations, Input, Shape, plain};
use crate::units::{Dimension, Unit, quantity};
use serde::{Deserialize, Serialize};

/// More points than a certificate has.
const MOST_POINTS: usize = 20;

/// The keys of a statement that only a calibration factor has.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub(crate) struct Certificate {
    /// Age in years of the calibration, for the drift.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub age_years: Option<f64>,
    /// What is done at a flow beyond the points: `refused` or `nearest`.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub beyond: Option<Beyond>,
    /// Correlation matrix of the points, where they are not independent of each other.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub correlation: Option<Vec<Vec<f64>>>,
    /// Uncertainty that is common to all points, such as that of the reference of the laboratory.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub common: Option<Instrument>,
    /// Change of the factor in a year.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub drift_per_year: Option<Box<Stated>>,
    /// The points, in the order of rising flow or Reynolds number.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub point: Vec<CurvePoint>,
}

/// A point of a calibration, at a flow or at a Reynolds number.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct CurvePoint {
    /// The volume flow.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub flow: Option<String>,
    /// The Reynolds number.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub reynolds: Option<f64>,
    /// The value there.
    pub value: String,
    /// Its standard uncertainty; this or one of the other two ways.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub standard_uncertainty: Option<String>,
    /// Its expanded uncertainty; needs `coverage_factor`.
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

impl CurvePoint {
    fn stated(&self) -> Stated {
        Stated {
            value: Some(self.value.clone()),
            uncertainty: Instrument {
                standard_uncertainty: self.standard_uncertainty.clone(),
                expanded_uncertainty: self.expanded_uncertainty.clone(),
                coverage_factor: self.coverage_factor,
                half_width: self.half_width.clone(),
                shape: self.shape,
                dof: self.dof,
                evidence: self.evidence.clone(),
            },
            ..Stated::default()
        }
    }
}

/// The name of a point, counted from 1.
fn point_name(path: &str, n: usize) -> String {
    format!("{path}.point[{n}]")
}

fn conflict(field: String, found: &str, allowed: &str) -> Error {
    Error::Conflict {
        field,
        found: found.to_owned(),
        allowed: allowed.to_owned(),
    }
}

impl Certificate {
    /// The certificate, unless it says nothing.
    pub(super) fn if_any(self) -> Option<Box<Certificate>> {
        (self != Certificate::default()).then(|| Box::new(self))
    }

    /// Refuses keys that would have no effect, for want of another one.
    pub(super) fn check(&self, path: &str) -> Result<()> {
        let of_points = [
            ("correlation", self.correlation.is_some()),
            ("common", self.common.is_some()),
            ("beyond", self.beyond.is_some()),
        ];
        for (key, stated) in of_points {
            if stated && self.point.is_empty() {
                let found = "stated without points, so that it would have no effect";
                let allowed = "with two points or more";
                return Err(conflict(format!("{path}.{key}"), found, allowed));
            }
        }
        match (&self.drift_per_year, self.age_years) {
            (Some(_), None) => Err(Error::Missing {
                field: format!("{path}.age_years"),
                needed: "age of the calibration, for drift_per_year".to_owned(),
            }),
            (None, Some(_)) => Err(conflict(
                format!("{path}.age_years"),
                "stated without drift_per_year, so that it would have no effect",
                "with drift_per_year, \"0 %\" with its uncertainty where the direction is not known",
            )),
            (Some(_), Some(age)) => {
                let usable = age >= 0.0 && age.is_finite();
                Error::range(usable, format!("{path}.age_years"), age, "", "0 or above")
            }
            (None, None) => Ok(()),
        }
    }

    /// The inputs of the points; those without evidence of their own have that of all.
    pub(super) fn point_inputs(
        &self,
        subject: &Subject<'_>,
        evidence: &str,
        check: Check<'_>,
    ) -> Result<Vec<Input>> {
        let read = |(n, point): (usize, &CurvePoint)| {
            let own = Subject {
                path: &point_name(subject.path, n),
                ..*subject
            };
            let inputs = read_stated(&point.stated(), &own, check)?;
            let place = match (&point.flow, point.reynolds) {
                (Some(flow), _) => format!("at {flow}"),
                (None, reynolds) => format!("at Re = {}", plain(reynolds.unwrap_or(f64::NAN))),
            };
            let said = |input: Input| {
                let words = match (input.evidence(), evidence) {
                    ("", "") => place.clone(),
                    ("", of_all) => format!("{of_all}, {place}"),
                    (own, _) => format!("{own}, {place}"),
                };
                input.evidence_in_words(words)
            };
            Ok(inputs.into_iter().map(said).collect::<Vec<_>>())
        };
        let inputs: Result<Vec<_>> = (1..).zip(&self.point).map(read).collect();
        Ok(inputs?.into_iter().flatten().collect())
    }

    /// What is added to the factor, whatever the flow: what is common to all points, and the drift.
    pub(super) fn corrections(&self, subject: &Subject<'_>) -> Result<Vec<Input>> {
        let mut inputs = Vec::new();
        let finished = |input: Input, evidence: String| {
            let input = input.shown_in(Unit::named("1"));
            input
                .in_component(subject.component)
                .evidence_in_words(evidence)
        };
        if let Some(common) = &self.common {
            let name = format!("{}.common", subject.path);
            let input = common.around(&name, 0.0, 1.0, subject.dimension)?;
            inputs.push(finished(input, common.evidence.clone()));
        }
        if let (Some(drift), Some(age)) = (&self.drift_per_year, self.age_years) {
            let own = Subject {
                path: &format!("{}.drift_per_year", subject.path),
                certificate: false,
                ..*subject
            };
            let name = format!("{}.drift", subject.path);
            for input in read_stated(drift, &own, &|_, _, _| Ok(()))? {
                let (change, u) = (age * input.estimate(), age * input.standard_uncertainty());
                let name = name.clone() + &input.name()[own.path.len()..];
                let grown = Input::with_standard_uncertainty(&name, change, u, input.dof())?;
                let words = format!("drift in {} years; {}", plain(age), input.evidence());
                inputs.push(finished(grown, words.trim_end_matches("; ").to_owned()));
            }
        }
        Ok(inputs)
    }
}

impl Stated {
    /// The curve on which the points lie, where there are any.
    ///
    /// # Errors
    /// One point, or more than twenty; places that do not rise, are not all flows or all Reynolds
    /// numbers, or are not above 0.
    pub(crate) fn curve(&self, path: &str) -> Result<Option<FactorCurve>> {
        let Some(certificate) = self.certificate.as_ref().filter(|c| !c.point.is_empty()) else {
            return Ok(None);
        };
        let count = certificate.point.len();
        if !(2..=MOST_POINTS).contains(&count) {
            return Err(Error::Length {
                field: format!("{path}.point"),
                found: count,
                allowed: format!(
                    "2 to {MOST_POINTS} points; one alone is a single factor, as value"
                ),
            });
        }
        let over = match certificate.point[0].flow {
            Some(_) => Over::VolumeFlow,
            None => Over::Reynolds,
        };
        let mut places: Vec<f64> = Vec::with_capacity(count);
        for (n, point) in (1..).zip(&certificate.point) {
            let name = point_name(path, n);
            let (key, place, unit) = match (&point.flow, point.reynolds, over) {
                (Some(flow), None, Over::VolumeFlow) => {
                    let key = format!("{name}.flow");
                    let read = quantity(flow, Dimension::VolumeFlow, &key)?;
                    (key, read.si, read.unit)
                }
                (None, Some(reynolds), Over::Reynolds) => {
                    (format!("{name}.reynolds"), reynolds, Unit::named(""))
                }
                (None, None, _) => {
                    return Err(Error::Missing {
                        field: name,
                        needed: "flow or reynolds, at which the factor was found".to_owned(),
                    });
                }
                _ => {
                    let found = "flow beside reynolds";
                    let allowed = "flow in all points, or reynolds in all";
                    return Err(conflict(name, found, allowed));
                }
            };
            let above = places.last().copied().unwrap_or(0.0);
            let rises = place > above && place.is_finite();
            let allowed = match places.len() {
                0 => "above 0".to_owned(),
                _ => format!(
                    "above {}, so that the points rise",
                    unit.after(&plain(unit.from_si(above)))
                ),
            };
            Error::range(rises, key, unit.from_si(place), &unit.symbol, allowed)?;
            places.push(place);
        }
        let lines = PiecewiseLinear::through(places);
        Ok(lines.map(|lines| FactorCurve {
            over,
            lines,
            beyond: certificate.beyond.unwrap_or_default(),
        }))
    }

    /// The correlated points, as pairs of names with their coefficient.
    ///
    /// # Errors
    /// A matrix that is not square, of as many rows as there are points, symmetric with a diagonal
    /// of 1, and positive semi-definite.
    pub(crate) fn correlated_points(&self, path: &str) -> Result<Vec<(String, String, f64)>> {
        let Some(certificate) = &self.certificate else {
            return Ok(Vec::new());
        };
        let Some(matrix) = &certificate.correlation else {
            return Ok(Vec::new());
        };
        let field = format!("{path}.correlation");
        let count = certificate.point.len();
        let square = matrix.len() == count && matrix.iter().all(|row| row.len() == count);
        if !square {
            return Err(Error::Length {
                field,
                found: matrix.len(),
                allowed: format!("{count} rows of {count} numbers, one a point"),
            });
        }
        let names: Vec<String> = (1..=count).map(|n| point_name(path, n)).collect();
        let mut pairs = Vec::new();
        for i in 0..count {
            let own = format!("{field}[{}][{}]", i + 1, i + 1);
            Error::range(matrix[i][i] == 1.0, own, matrix[i][i], "", "1")?;
            for j in 0..i {
                let r = matrix[i][j];
                let own = format!("{field}[{}][{}]", i + 1, j + 1);
                let allowed = "the same as in the other half of the matrix";
                Error::range(r == matrix[j][i], own.clone(), r, "", allowed)?;
                Error::range((-1.0..=1.0).contains(&r), own, r, "", "-1 to 1")?;
                if r != 0.0 {
                    pairs.push((names[j].clone(), names[i].clone(), r));
                }
            }
        }
        let names: Vec<&str> = names.iter().map(String::as_str).collect();
        Correlations::from_pairs(&names, &pairs)?;
        Ok(pairs)
    }
}
