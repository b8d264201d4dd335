//! Alternatives side by side: one row each, ranked by the uncertainty to expect, by effort and by
//! spacing.
//!
//! An alternative is anything that has a label and an expectation for each of the same conditions: a
//! changed site, or the same site with other sensors. One that can be measured and fits is ranked
//! before one that can be measured at some of the conditions alone; then come those that do not
//! fit, and last those that cannot be measured at all.

mod comparison_text;
mod effort;
mod remark;
mod room;

pub use effort::Effort;
pub use remark::Remark;
pub use room::{Fit, Placed, Room};

use super::{Conditions, Expected, Plan, Wanted};
use crate::error::{Error, Result};
use crate::site::Site;
use crate::units::Unit;
use remark::remarks_of;

/// By what alternatives are compared besides their uncertainty.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct ComparisonRequest {
    /// The expanded uncertainty that is wanted.
    pub wanted: Option<Wanted>,
    /// The room for sensors along the pipe.
    pub room: Room,
    /// The effort of each alternative by its label, in a unit that all share; none for the count of
    /// our convention, see [`Effort`].
    pub efforts: Vec<(String, f64)>,
}

/// An alternative as it enters a comparison.
#[derive(Debug, Clone)]
pub struct Candidate<'a> {
    /// What it is, in words.
    pub label: &'a str,
    /// What is expected at each of the conditions of the comparison, or why nothing can be measured.
    pub expected: Vec<&'a Result<Expected>>,
    /// What it asks for at the pipe; `None` where nobody can tell.
    pub effort: Option<Effort>,
    /// Whether it fits; [`Candidate::fit_in`] tells it from the room.
    pub fit: Fit,
}

impl Candidate<'_> {
    /// Where its sensors are, over all conditions at which it can be measured.
    pub fn placed(&self) -> Option<Placed> {
        let expected = self.expected.iter().filter_map(|e| e.as_ref().ok());
        let mut placed: Option<Placed> = None;
        for one in expected {
            let spacing = one.steps().path.spacing;
            let site = &one.evaluation().site;
            let own = placed.get_or_insert(Placed {
                spacing: [spacing; 2],
                sensor_length: site.sensor_length,
                is_direct: !site.skeleton.choices().traverses.is_multiple_of(2),
            });
            own.spacing = [own.spacing[0].min(spacing), own.spacing[1].max(spacing)];
        }
        placed
    }

    /// Whether its sensors fit. What cannot be measured anywhere has no spacing that could fit or not.
    pub fn fit_in(&self, room: &Room) -> Fit {
        self.placed()
            .map_or(Fit::NotAsked, |placed| room.fit(&placed))
    }
}

/// The largest expanded uncertainty of an alternative.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct Largest {
    /// Relative to the flow.
    pub relative: f64,
    /// The place of the conditions at which it is expected.
    pub at: usize,
}

/// An alternative in comparison with the others.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct Compared {
    /// What it is, in words.
    pub label: String,
    /// Number of conditions at which it can be measured.
    pub measurable: usize,
    /// The largest relative expanded uncertainty over the conditions at which it can be measured.
    pub largest: Option<Largest>,
    /// The median of the relative expanded uncertainties over these conditions.
    pub typical: Option<f64>,
    /// Number of conditions at which the target is met as it is; `None` without target.
    pub on_target: Option<usize>,
    /// What it asks for at the pipe.
    pub effort: Option<Effort>,
    /// Where its sensors are.
    pub placed: Option<Placed>,
    /// Whether they fit.
    pub fit: Fit,
    /// Rank by the largest uncertainty, from 1; equals share a rank.
    pub rank_by_uncertainty: usize,
    /// Rank by effort.
    pub rank_by_effort: usize,
    /// Rank by spacing, the shortest first.
    pub rank_by_spacing: usize,
}

/// Alternatives side by side.
#[derive(Debug, Clone)]
#[non_exhaustive]
pub struct Comparison {
    /// The conditions, the same for all.
    pub conditions: Vec<Conditions>,
    /// The alternatives in the order given.
    pub alternatives: Vec<Compared>,
    /// Warnings and refusals, each once.
    pub remarks: Vec<Remark>,
    /// The expanded uncertainty that is wanted.
    pub wanted: Option<Wanted>,
    /// Whether efforts were counted by our convention.
    pub counted: bool,
    /// The unit in which flows are shown.
    pub flow_unit: Unit,
}

/// What decides a rank before any number does.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Standing {
    Whole,
    InPart,
    DoesNotFit,
    NotMeasurable,
}

impl Comparison {
    /// Compares alternatives, each with an expectation for each of the conditions. `counted` says
    /// that efforts are those of [`Effort::of`], so that the convention is told beside them.
    ///
    /// # Errors
    /// Alternatives with another number of expectations than there are conditions; a target that is not
    /// above 0.
    pub fn of(
        candidates: &[Candidate<'_>],
        conditions: &[Conditions],
        wanted: Option<Wanted>,
        counted: bool,
        flow_unit: &Unit,
    ) -> Result<Comparison> {
        let compared = candidates
            .iter()
            .map(|candidate| candidate.compared(conditions, wanted));
        let mut alternatives: Vec<Compared> = compared.collect::<Result<_>>()?;
        let standings: Vec<Standing> = alternatives
            .iter()
            .map(|one| one.standing(conditions.len()))
            .collect();
        let ranks = |key: fn(&Compared) -> Option<f64>| {
            let keys = alternatives.iter().zip(&standings);
            // what has no number comes after what has one
            let keys = keys.map(|(one, standing)| (*standing, key(one).unwrap_or(f64::INFINITY)));
            ranks_of(&keys.collect::<Vec<_>>())
        };
        let by_uncertainty = ranks(|one| one.largest.map(|largest| largest.relative));
        let by_effort = ranks(|one| one.effort.as_ref().map(Effort::total));
        let by_spacing = ranks(|one| one.placed.map(|placed| placed.spacing[1]));
        for (i, one) in alternatives.iter_mut().enumerate() {
            one.rank_by_uncertainty = by_uncertainty[i];
            one.rank_by_effort = by_effort[i];
            one.rank_by_spacing = by_spacing[i];
        }
        Ok(Comparison {
            conditions: conditions.to_vec(),
            alternatives,
            remarks: remarks_of(candidates),
            wanted,
            counted,
            flow_unit: flow_unit.clone(),
        })
    }

    /// The places of the alternatives by rank: by uncertainty, then by effort, then in the order given.
    pub fn ranked(&self) -> Vec<usize> {
        let mut order: Vec<usize> = (0..self.alternatives.len()).collect();
        order.sort_by_key(|i| {
            let one = &self.alternatives[*i];
            (one.rank_by_uncertainty, one.rank_by_effort)
        });
        order
    }

    /// The alternative that meets the target at all conditions, fits, and asks for the least effort;
    /// of equals the one with the lower uncertainty. `None` without target or without such an
    /// alternative.
    pub fn least_effort_on_target(&self) -> Option<&Compared> {
        let alternatives = self.alternatives.iter();
        alternatives
            .filter(|one| self.is_on_target(one) == Some(true))
            .min_by_key(|one| (one.rank_by_effort, one.rank_by_uncertainty))
    }

    /// Whether an alternative fits and meets the target at all conditions; `None` without target.
    pub fn is_on_target(&self, one: &Compared) -> Option<bool> {
        let everywhere = one.on_target? == self.conditions.len();
        Some(everywhere && one.fit.fits() != Some(false))
    }
}

/// Ranks from 1, by rising keys; equals share a rank.
fn ranks_of(keys: &[(Standing, f64)]) -> Vec<usize> {
    let before =
        |a: &(Standing, f64), b: &(Standing, f64)| a.0.cmp(&b.0).then(a.1.total_cmp(&b.1)).is_lt();
    let rank = |own: &(Standing, f64)| 1 + keys.iter().filter(|other| before(other, own)).count();
    keys.iter().map(rank).collect()
}

impl Candidate<'_> {
    /// Its numbers, without ranks.
    fn compared(&self, conditions: &[Conditions], wanted: Option<Wanted>) -> Result<Compared> {
        if self.expected.len() != conditions.len() {
            return Err(Error::Length {
                field: format!("expectations of {}", self.label),
                found: self.expected.len(),
                allowed: format!("{}, one for each of the conditions", conditions.len()),
            });
        }
        let mut relative = Vec::new();
        let mut largest: Option<Largest> = None;
        let mut on_target = wanted.map(|_| 0);
        for (at, (expected, condition)) in self.expected.iter().zip(conditions).enumerate() {
            let flow = condition.volume_flow;
            let limit = wanted.map(|wanted| wanted.at(flow)).transpose()?;
            let Ok(expected) = expected else { continue };
            let expanded = expected.expanded()?.expanded_uncertainty;
            let own = expanded / flow;
            relative.push(own);
            if largest.is_none_or(|known| own > known.relative) {
                largest = Some(Largest { relative: own, at });
            }
            if let Some((count, limit)) = on_target.as_mut().zip(limit)
                && expanded <= limit
            {
                *count += 1;
            }
        }
        Ok(Compared {
            label: self.label.to_owned(),
            measurable: relative.len(),
            largest,
            typical: median(relative),
            on_target,
            effort: self.effort.clone(),
            placed: self.placed(),
            fit: self.fit.clone(),
            rank_by_uncertainty: 0,
            rank_by_effort: 0,
            rank_by_spacing: 0,
        })
    }
}

fn median(mut values: Vec<f64>) -> Option<f64> {
    values.sort_by(f64::total_cmp);
    let upper = values.get(values.len() / 2)?;
    let lower = values.get(values.len().div_ceil(2).checked_sub(1)?)?;
    Some(0.5 * (lower + upper))
}

impl Compared {
    fn standing(&self, conditions: usize) -> Standing {
        match (self.measurable, self.fit.fits()) {
            (0, _) => Standing::NotMeasurable,
            (_, Some(false)) => Standing::DoesNotFit,
            (measurable, _) if measurable < conditions => Standing::InPart,
            _ => Standing::Whole,
        }
    }
}

impl ComparisonRequest {
    /// Refuses what can be told without any result.
    pub(super) fn check(&self, labels: &[&str]) -> Result<()> {
        self.room.check()?;
        if let Some(wanted) = self.wanted {
            wanted.at(1.0)?;
        }
        for (label, effort) in &self.efforts {
            if !labels.contains(&label.as_str()) {
                return Err(Error::unknown_name("efforts", label, labels));
            }
            Effort::stated(*effort)?;
        }
        let stated = |label: &str| self.efforts.iter().any(|(own, _)| own == label);
        let left_out = labels.iter().find(|label| !stated(label));
        match left_out {
            Some(label) if !self.efforts.is_empty() => Err(Error::Missing {
                field: "efforts".to_owned(),
                needed: format!("a number for `{label}`, as for all alternatives or for none"),
            }),
            _ => Ok(()),
        }
    }

    /// The effort of an alternative: as stated, or counted where it has a site.
    fn effort(&self, label: &str, site: Option<&Site>, as_stated: &Site) -> Result<Option<Effort>> {
        let stated = self.efforts.iter().find(|(own, _)| own == label);
        match stated {
            Some((_, total)) => Effort::stated(*total).map(Some),
            None => Ok(site.map(|site| Effort::of(site, as_stated))),
        }
    }
}

impl Plan {
    /// Whether there is something to compare: several alternatives, or one with a target, a room or an
    /// effort.
    pub fn compares(&self) -> bool {
        self.alternatives.len() > 1 || self.comparison != ComparisonRequest::default()
    }

    /// The alternatives side by side, by what the plan was asked to compare them by.
    ///
    /// # Errors
    /// None for a plan that was made.
    ///
    /// # Example
    /// ```
    /// use flowdoubt::plan::{ComparisonRequest, PlanRequest, Room, Wanted};
    /// use flowdoubt::site::{Change, Site};
    /// let site = Site::load("notebooks/demo/site.toml")?;
    /// let traverses = |n| Change { traverses: Some(n), ..Change::default() };
    /// let plan = site.plan(&PlanRequest {
    ///     flows: vec![0.05, 0.1, 0.3],
    ///     temperatures: vec![281.0],
    ///     alternatives: vec![traverses(1), traverses(2)],
    ///     comparison: ComparisonRequest {
    ///         wanted: Some(Wanted::Relative(0.03)),
    ///         room: Room { free_length: Some(0.3), rail: None },
    ///         efforts: Vec::new(),
    ///     },
    ///     ..PlanRequest::default()
    /// })?;
    /// let comparison = plan.comparison()?;
    /// let [direct, reflected] = comparison.alternatives.as_slice() else { unreachable!() };
    /// // the spacing of two traverses is 0.345 m, and comes last although it is the more certain
    /// assert_eq!(reflected.fit.fits(), Some(false));
    /// assert!(reflected.largest.unwrap().relative < direct.largest.unwrap().relative);
    /// assert_eq!([direct, reflected].map(|one| one.rank_by_uncertainty), [1, 2]);
    /// # Ok::<(), flowdoubt::Error>(())
    /// ```
    pub fn comparison(&self) -> Result<Comparison> {
        let request = &self.comparison;
        let mut candidates = Vec::new();
        for (i, alternative) in self.alternatives.iter().enumerate() {
            let site = alternative.site.as_ref().ok();
            let points = self.points.iter().filter(|point| point.alternative == i);
            let mut candidate = Candidate {
                label: &alternative.label,
                expected: points.map(|point| &point.expected).collect(),
                effort: request.effort(&alternative.label, site, &self.site)?,
                fit: Fit::NotAsked,
            };
            candidate.fit = candidate.fit_in(&request.room);
            candidates.push(candidate);
        }
        // all alternatives have the same conditions in the same order
        let first = self.points.iter().filter(|point| point.alternative == 0);
        let conditions: Vec<Conditions> = first.map(|point| point.conditions).collect();
        Comparison::of(
            &candidates,
            &conditions,
            request.wanted,
            request.efforts.is_empty(),
            &self.site.flow_unit,
        )
    }
}
