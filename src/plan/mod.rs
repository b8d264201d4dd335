//! Before going to site: the uncertainty to expect over flows and temperatures, alternatives side by
//! side, the feasible window, and the way to a wanted uncertainty.
//!
//! Nothing here is a second model. For each flow the measurement model is solved for the readings
//! that would stand for it, and these are evaluated like readings that were taken.

mod comparison;
mod expected_uncertainty;
mod improved_variance;
mod least_effort;
mod plan_text;
mod point_row;
mod repeatability;
mod target;
mod target_request;
mod window;

pub use comparison::{
    Candidate, Compared, Comparison, ComparisonRequest, Effort, Fit, Largest, Placed, Remark, Room,
};
pub use expected_uncertainty::{Conditions, Expected, PlannedReading};
pub use least_effort::{Improvable, least_effort};
pub use point_row::{Cell, Row, row_shown_in};
pub(crate) use point_row::{put, row_to_json};
pub use repeatability::{Repeatability, Scatter};

pub use improved_variance::LeastEffort;
pub use target::{Improvement, Target};
pub use target_request::{TargetRequest, Wanted};
pub use window::{Edge, Range, Temperatures, Window};

use crate::error::{Error, Result};
use crate::site::{Change, Site};
use crate::watch::{Watch, map_watched, unwatched};

/// What a plan is to cover: every flow at every temperature with every alternative.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct PlanRequest {
    /// Volume flows, in m3/s, above 0.
    pub flows: Vec<f64>,
    /// Temperatures of the liquid, in K; none for what the site file states.
    pub temperatures: Vec<f64>,
    /// What the alternatives change; none for the site as stated.
    pub alternatives: Vec<Change>,
    /// How far the readings will scatter.
    pub repeatability: Repeatability,
    /// By what the alternatives are compared.
    pub comparison: ComparisonRequest,
}

/// A site to compare with others.
#[derive(Debug, Clone)]
pub struct Alternative {
    /// What it changes, in words.
    pub label: String,
    /// What it changes.
    pub change: Change,
    /// The site, or why there is none.
    pub site: Result<Site>,
}

/// One flow at one temperature with one alternative.
#[derive(Debug, Clone)]
#[non_exhaustive]
pub struct Point {
    /// The place of the alternative in [`Plan::alternatives`].
    pub alternative: usize,
    /// Flow and temperature.
    pub conditions: Conditions,
    /// What to expect there, or why nothing can be measured.
    pub expected: Result<Expected>,
}

/// The uncertainty to expect, point by point.
#[derive(Debug, Clone)]
#[non_exhaustive]
pub struct Plan {
    /// The site as stated.
    pub site: Site,
    /// The alternatives.
    pub alternatives: Vec<Alternative>,
    /// All points: by alternative, then by temperature, then by flow, in the order given.
    pub points: Vec<Point>,
    /// How far the readings will scatter.
    pub repeatability: Repeatability,
    /// By what the alternatives are compared.
    pub comparison: ComparisonRequest,
}

/// More points than anybody looks at; each keeps a whole budget.
const MOST_POINTS: usize = 20_000;

impl Site {
    /// The uncertainty to expect over flows and temperatures, for each alternative.
    ///
    /// Conditions at which an alternative cannot measure, and alternatives that the site file cannot
    /// serve, are points that say why.
    ///
    /// # Errors
    /// No flow, a flow or temperature that is not above 0, temperatures that are missing or of no
    /// effect, more than 20 000 points; an alternative with an impossible number or text.
    ///
    /// # Example
    /// ```
    /// use flowdoubt::{plan::PlanRequest, site::{Change, Site}};
    /// let site = Site::load("notebooks/demo/site.toml")?;
    /// let traverses = |n| Change { traverses: Some(n), ..Change::default() };
    /// let plan = site.plan(&PlanRequest {
    ///     flows: vec![0.05, 0.1, 0.3],
    ///     temperatures: vec![281.0],
    ///     alternatives: vec![traverses(1), traverses(2)],
    ///     ..PlanRequest::default()
    /// })?;
    /// assert_eq!(plan.points.len(), 6);
    /// // with one traverse the time difference is half as large, and its uncertainty weighs more
    /// let uncertainty = |i: usize| {
    ///     let expected = plan.points[i].expected.as_ref().expect("a feasible point");
    ///     expected.budget().standard_uncertainty
    /// };
    /// assert!(uncertainty(0) > uncertainty(3));
    /// # Ok::<(), flowdoubt::Error>(())
    /// ```
    pub fn plan(&self, request: &PlanRequest) -> Result<Plan> {
        self.plan_watched(request, &mut unwatched)
    }

    /// As [`Site::plan`], with a watch that is told the number of points done and may end it.
    ///
    /// # Errors
    /// As [`Site::plan`], and [`Error::Cancelled`].
    pub fn plan_watched(&self, request: &PlanRequest, watch: &mut Watch<'_>) -> Result<Plan> {
        let as_stated = [Change::default()];
        let changes = match request.alternatives.as_slice() {
            [] => &as_stated,
            changes => changes,
        };
        let temperatures: Vec<Option<f64>> = match request.temperatures.as_slice() {
            [] => vec![None],
            some => some.iter().copied().map(Some).collect(),
        };
        request.check(changes.len() * temperatures.len())?;
        for temperature in &temperatures {
            self.check_temperature(*temperature)?;
        }
        let alternatives = changes.iter().map(|change| self.alternative(change));
        let alternatives: Vec<Alternative> = alternatives.collect::<Result<_>>()?;
        let labels: Vec<&str> = alternatives.iter().map(|a| a.label.as_str()).collect();
        request.comparison.check(&labels)?;
        let mut wanted = Vec::new();
        for alternative in 0..alternatives.len() {
            for temperature in &temperatures {
                wanted.extend(request.flows.iter().map(|flow| {
                    let conditions = Conditions {
                        volume_flow: *flow,
                        temperature: *temperature,
                    };
                    (alternative, conditions)
                }));
            }
        }
        let repeatability = &request.repeatability;
        let point = |i: usize| {
            let (alternative, conditions) = wanted[i];
            Point {
                alternative,
                conditions,
                expected: match &alternatives[alternative].site {
                    Ok(site) => site.expected(&conditions, repeatability),
                    Err(why) => Err(why.clone()),
                },
            }
        };
        Ok(Plan {
            site: self.clone(),
            points: map_watched(wanted.len(), watch, point)?,
            alternatives,
            repeatability: repeatability.clone(),
            comparison: request.comparison.clone(),
        })
    }

    fn alternative(&self, change: &Change) -> Result<Alternative> {
        let site = self.with(change);
        match site {
            Err(error) if !is_unserved(&error) => Err(error),
            site => Ok(Alternative {
                label: change.to_string(),
                change: change.clone(),
                site,
            }),
        }
    }
}

/// Whether a site file cannot serve another basis or path, which is an answer and not a slip.
fn is_unserved(error: &Error) -> bool {
    let of_fitting = |field: &String| field.starts_with("installation.");
    let slip = error.context().field.as_ref().is_some_and(of_fitting);
    matches!(error.code(), "conflict" | "missing") && !slip
}

impl PlanRequest {
    fn check(&self, times: usize) -> Result<()> {
        if self.flows.is_empty() {
            return Err(Error::Missing {
                field: "flows".to_owned(),
                needed: "one volume flow or more".to_owned(),
            });
        }
        let points = self.flows.len().saturating_mul(times);
        if points > MOST_POINTS {
            return Err(Error::Length {
                field: "points of the plan".to_owned(),
                found: points,
                allowed: format!("{MOST_POINTS} at most"),
            });
        }
        let positive = |field: &str, unit: &str, values: &[f64]| {
            values.iter().enumerate().try_for_each(|(i, v)| {
                let possible = *v > 0.0 && v.is_finite();
                Error::range(possible, format!("{field}[{i}]"), *v, unit, "above 0")
            })
        };
        positive("flows", "m3/s", &self.flows)?;
        positive("temperatures", "K", &self.temperatures)
    }
}

impl Plan {
    /// The way to a wanted expanded uncertainty, for each point that has a result.
    ///
    /// # Errors
    /// As [`Target::of`]; a name must be that of an input of one point at least.
    pub fn targets(&self, request: &TargetRequest) -> Result<Vec<Option<Target>>> {
        self.targets_watched(request, &mut unwatched)
    }

    /// As [`Plan::targets`], with a watch that is told the number of points done and may end it.
    ///
    /// # Errors
    /// As [`Plan::targets`], and [`Error::Cancelled`].
    pub fn targets_watched(
        &self,
        request: &TargetRequest,
        watch: &mut Watch<'_>,
    ) -> Result<Vec<Option<Target>>> {
        let expected = self.points.iter().filter_map(|p| p.expected.as_ref().ok());
        let mut names: Vec<&str> = Vec::new();
        for one in expected {
            for input in one.inputs().inputs() {
                if !names.contains(&input.name()) {
                    names.push(input.name());
                }
            }
        }
        let known = |field: &str, name: &String| {
            if names.contains(&name.as_str()) || names.is_empty() {
                return Ok(());
            }
            Err(Error::unknown_name(field, name, &names))
        };
        for (name, _) in request.costs.iter().flatten() {
            known("costs", name)?;
        }
        for (name, _) in &request.lowest {
            known("lowest", name)?;
        }
        let target = |point: &Point| {
            let Ok(expected) = &point.expected else {
                return Ok(None);
            };
            // an input that some alternatives have need not be one of this
            let has = |name: &str| expected.inputs().inputs().iter().any(|i| i.name() == name);
            let own = TargetRequest {
                wanted: request.wanted,
                costs: request.costs.as_ref().map(|costs| {
                    let own = costs.iter().filter(|(name, _)| has(name));
                    own.cloned().collect()
                }),
                lowest: {
                    let own = request.lowest.iter().filter(|(name, _)| has(name));
                    own.cloned().collect()
                },
            };
            expected.evaluation().target(&own).map(Some)
        };
        let all = map_watched(self.points.len(), watch, |i| target(&self.points[i]))?;
        all.into_iter().collect()
    }

    /// Whether at each flow and temperature one alternative at least reaches its target.
    pub fn all_reachable(&self, targets: &[Option<Target>]) -> bool {
        let reached = |at: &Conditions| {
            let points = self.points.iter().zip(targets);
            let mut own = points.filter(|(point, _)| point.conditions == *at);
            own.any(|(_, target)| target.as_ref().is_some_and(Target::is_reachable))
        };
        // of instruments that were tried none may fit
        !self.points.is_empty() && self.points.iter().all(|point| reached(&point.conditions))
    }
}
