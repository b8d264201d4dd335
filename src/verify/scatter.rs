//! Repeatability within placements and reproducibility between them, from the errors of the runs.

use super::file::RepeatabilityFrom;
use crate::error::Result;
use crate::uncertainty::{OneWay, Pooled, TypeA};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// How the errors of runs scatter at one flow point. Errors are ratios.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[non_exhaustive]
pub struct Repeatability {
    /// Standard deviation of the error of one run under the same conditions.
    pub standard_deviation: f64,
    /// Its degrees of freedom.
    pub dof: f64,
    /// The standard uncertainty of the mean that comes from it.
    pub standard_uncertainty: f64,
    /// Whether it is that of the runs of all points together.
    pub pooled: bool,
}

/// How errors differ between placements of the sensors at one flow point. Errors are ratios.
///
/// # Source
/// One-way analysis of variance, JCGM 100:2008, H.5.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[non_exhaustive]
pub struct Reproducibility {
    /// Number of placements.
    pub placements: usize,
    /// Standard deviation of the effect of a placement.
    pub between_placements: f64,
    /// Standard deviation of the error of one run with the sensors mounted anew: within and between
    /// placements together.
    pub standard_deviation: f64,
    /// The ratio of the mean squares between and within placements.
    pub f: f64,
    /// The probability of a larger ratio if placements had no effect.
    pub p_value: f64,
}

/// The runs of one flow point, by placement.
pub(super) struct Groups<'a> {
    /// The errors of the runs of each placement.
    pub(super) errors: Vec<Vec<f64>>,
    pub(super) point: &'a str,
}

impl Groups<'_> {
    fn runs(&self) -> usize {
        self.errors.iter().map(Vec::len).sum()
    }

    /// The scatter within placements; where no placement has two runs, that of all runs, in which
    /// the effect of the placements is contained.
    fn series(&self) -> Result<Vec<TypeA>> {
        let repeated = self.errors.iter().filter(|errors| errors.len() > 1);
        let series: Vec<TypeA> = repeated
            .map(|errors| TypeA::of(errors, self.point))
            .collect::<Result<_>>()?;
        if series.is_empty() && self.runs() > 1 {
            return Ok(vec![TypeA::of(&self.errors.concat(), self.point)?]);
        }
        Ok(series)
    }

    /// `sqrt(sum w^2)` for the weights of the runs in the mean of the means of placements.
    fn of_mean(&self) -> f64 {
        let placements = self.errors.len() as f64;
        let squares = self.errors.iter().map(|errors| 1.0 / errors.len() as f64);
        squares.sum::<f64>().sqrt() / placements
    }

    /// Reproducibility, where there are two placements or more with two runs or more in each.
    pub(super) fn reproducibility(&self) -> Result<Option<Reproducibility>> {
        let repeated = self.errors.iter().all(|errors| errors.len() > 1);
        let varies = |errors: &Vec<f64>| errors.iter().any(|e| *e != errors[0]);
        if self.errors.len() < 2 || !repeated || !self.errors.iter().any(varies) {
            return Ok(None);
        }
        let way = OneWay::of(&self.errors, self.point)?;
        let square = |x: f64| x * x;
        let both = square(way.within_deviation) + square(way.between_component);
        Ok(Some(Reproducibility {
            placements: way.groups,
            between_placements: way.between_component,
            standard_deviation: both.sqrt(),
            f: way.f,
            p_value: way.p_value,
        }))
    }
}

/// Repeatability of each point; `None` where nothing tells it.
pub(super) fn repeatability(
    points: &[Groups<'_>],
    from: RepeatabilityFrom,
) -> Result<Vec<Option<Repeatability>>> {
    let series: Vec<Vec<TypeA>> = points.iter().map(Groups::series).collect::<Result<_>>()?;
    let all = series.concat();
    let of = |(point, own): (&Groups<'_>, &Vec<TypeA>)| {
        let pooled = from == RepeatabilityFrom::Pooled;
        let used = if pooled { &all } else { own };
        if used.is_empty() {
            return Ok(None);
        }
        let pool = Pooled::of(used)?;
        Ok(Some(Repeatability {
            standard_deviation: pool.standard_deviation,
            dof: pool.dof,
            standard_uncertainty: pool.standard_deviation * point.of_mean(),
            pooled,
        }))
    };
    points.iter().zip(&series).map(of).collect()
}
