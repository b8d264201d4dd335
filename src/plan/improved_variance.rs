//! The variance of a budget as a function of how much its inputs are improved.

use super::target_request::TargetRequest;
use super::{Improvable, least_effort};
use crate::error::{Error, Result};
use crate::uncertainty::{
    Budget, Correlations, Expanded, Input, InputSet, effective_dof, expanded,
};
use crate::units::difference;

/// The solution of least effort.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct LeastEffort {
    /// The total effort, in the unit of the costs.
    pub effort: f64,
    /// The budget with the improved inputs.
    pub budget: Budget,
    /// Its expanded uncertainty, with the coverage factor of its own degrees of freedom.
    pub expanded: Expanded,
}

/// Halvings of the variance that is looked for; sixty are enough for the last bit.
const HALVINGS: usize = 200;

/// The fraction of a standard uncertainty below which an input counts as perfect.
const PERFECT: f64 = 1e-6;

const DERIVED: &str = "derived, nobody states it";
const NO_COST: &str = "no cost given";
const PARTNER: &str = "correlated with an input that stays";

/// Inputs that are improved by the same fraction.
pub(super) struct Group {
    pub members: Vec<usize>,
    pub improvable: Improvable,
    pub held: Option<&'static str>,
}

/// The variance of a budget as a function of the fractions of its groups.
pub(super) struct Problem<'a> {
    pub budget: &'a Budget,
    pub groups: Vec<Group>,
    pub coverage_probability: f64,
    pub wanted: f64,
}

/// The price of one input in a group that is not held.
pub(super) fn cost_of(request: &TargetRequest, name: &str, held: Option<&'static str>) -> f64 {
    match (&request.costs, held) {
        (_, Some(_)) => 0.0,
        (None, None) => 1.0,
        (Some(costs), None) => {
            let own = costs.iter().find(|(other, _)| other == name);
            own.map_or(0.0, |(_, cost)| *cost)
        }
    }
}

/// The inputs that are not exact, in groups of those that are correlated.
pub(super) fn groups_of(
    budget: &Budget,
    inputs: &InputSet,
    request: &TargetRequest,
    is_improvable: &dyn Fn(&str) -> bool,
) -> Result<Vec<Group>> {
    let names: Vec<&str> = inputs.inputs().iter().map(Input::name).collect();
    let known = |field: &str, name: &str| {
        if names.contains(&name) {
            return Ok(());
        }
        Err(Error::unknown_name(field, name, &names))
    };
    for (name, cost) in request.costs.iter().flatten() {
        known("costs", name)?;
        let possible = *cost > 0.0 && cost.is_finite();
        Error::range(possible, format!("costs.{name}"), *cost, "", "above 0")?;
    }
    for (name, _) in &request.lowest {
        known("lowest", name)?;
    }
    let mut groups = Vec::new();
    for members in correlated_groups(budget, inputs.correlations()) {
        let variance: f64 = members.iter().map(|i| budget.lines[*i].share).sum();
        let square = budget.standard_uncertainty * budget.standard_uncertainty;
        let mut cost = 0.0;
        let mut lowest: f64 = 0.0;
        let mut held = Vec::new();
        for i in &members {
            let input = &budget.lines[*i].input;
            let why = match &request.costs {
                None if !is_improvable(input.name()) => Some(DERIVED),
                Some(costs) if costs.iter().all(|(name, _)| name != input.name()) => Some(NO_COST),
                _ => None,
            };
            held.extend(why);
            cost += cost_of(request, input.name(), why);
            if let Some((_, text)) = request.lowest.iter().find(|(name, _)| name == input.name()) {
                lowest = lowest.max(lowest_fraction(input, text)?);
            }
        }
        let some_but_not_all = !held.is_empty() && held.len() < members.len();
        if some_but_not_all && request.costs.is_some() {
            let names: Vec<&str> = members.iter().map(|i| names[*i]).collect();
            return Err(Error::Conflict {
                field: "costs".to_owned(),
                found: "costs for some of the inputs that are correlated".to_owned(),
                allowed: format!(
                    "a cost for all of {}, which are improved together, or for none",
                    names.join(", ")
                ),
            });
        }
        groups.push(Group {
            held: held
                .first()
                .map(|why| if some_but_not_all { PARTNER } else { *why }),
            improvable: Improvable {
                variance: (variance * square).max(0.0),
                cost,
                lowest: lowest.min(1.0),
            },
            members,
        });
    }
    Ok(groups)
}

/// The fraction of an input's standard uncertainty that a text stands for.
fn lowest_fraction(input: &Input, text: &str) -> Result<f64> {
    let field = format!("lowest.{}", input.name());
    let Some(dimension) = input.unit().dimension() else {
        return Err(Error::Conflict {
            field,
            found: format!("a lowest uncertainty in {}", input.unit().symbol),
            allowed: "one for an input whose unit the program knows".to_owned(),
        });
    };
    let si = difference(text, input.estimate(), dimension, &field)?;
    let allowed = "a standard uncertainty, 0 or above";
    Error::range(si >= 0.0, &field, si, &input.unit().si_symbol, allowed)?;
    Ok(si / input.standard_uncertainty())
}

/// Places of the inputs that are not exact, those that hang together by correlations in one list.
fn correlated_groups(budget: &Budget, correlations: &Correlations) -> Vec<Vec<usize>> {
    let uncertain = |i: &usize| budget.lines[*i].input.standard_uncertainty() > 0.0;
    let mut left: Vec<usize> = (0..budget.lines.len()).filter(uncertain).collect();
    let mut groups = Vec::new();
    while !left.is_empty() {
        let mut members = vec![left.remove(0)];
        let mut next = 0;
        while next < members.len() {
            let i = members[next];
            let (joined, others) = left
                .into_iter()
                .partition(|j| correlations.any() && correlations.coefficient(i, *j) != 0.0);
            members.extend::<Vec<usize>>(joined);
            left = others;
            next += 1;
        }
        members.sort_unstable();
        groups.push(members);
    }
    groups
}

impl Problem<'_> {
    pub fn lowest(&self) -> Vec<f64> {
        let lowest = |group: &Group| match group.held {
            Some(_) => 1.0,
            None => group.improvable.lowest,
        };
        self.groups.iter().map(lowest).collect()
    }

    fn variance_at(&self, fractions: &[f64]) -> f64 {
        let groups = self.groups.iter().zip(fractions);
        groups
            .map(|(group, s)| group.improvable.variance * s * s)
            .sum()
    }

    /// The expanded uncertainty with the inputs of each group at a fraction of what they are.
    pub fn expanded_at(&self, fractions: &[f64]) -> Result<Expanded> {
        let combined = self.variance_at(fractions).sqrt();
        let contributions = self.groups.iter().zip(fractions).flat_map(|(group, s)| {
            let lines = group.members.iter().map(|i| &self.budget.lines[*i]);
            lines.map(move |line| (line.contribution * s, line.input.dof()))
        });
        let dof = effective_dof(combined, contributions);
        expanded(combined, dof, self.coverage_probability)
    }

    fn meets(&self, fractions: &[f64]) -> Result<bool> {
        Ok(self.expanded_at(fractions)?.expanded_uncertainty <= self.wanted)
    }

    /// The fractions of least effort with the groups `free` improved and not held; `None` where
    /// they cannot reach the target.
    ///
    /// The coverage factor depends on the fractions; so the variance is looked for whose solution
    /// of least effort meets the target with its own coverage factor.
    pub fn solve(&self, free: &[usize]) -> Result<Option<Vec<f64>>> {
        let ones = vec![1.0; self.groups.len()];
        if self.meets(&ones)? {
            return Ok(Some(ones));
        }
        let free: Vec<usize> = free
            .iter()
            .copied()
            .filter(|g| self.groups[*g].held.is_none())
            .collect();
        let improvable: Vec<Improvable> = free.iter().map(|g| self.groups[*g].improvable).collect();
        let spread = |few: &[f64]| {
            let mut all = ones.clone();
            for (g, s) in free.iter().zip(few) {
                all[*g] = *s;
            }
            all
        };
        let others: Vec<f64> = (0..ones.len())
            .map(|g| if free.contains(&g) { 0.0 } else { 1.0 })
            .collect();
        let fixed = self.variance_at(&others);
        let lowest: Vec<f64> = improvable.iter().map(|i| i.lowest).collect();
        let mut best = spread(&lowest);
        if !self.meets(&best)? {
            return Ok(None);
        }
        let (mut low, mut high) = (self.variance_at(&best), self.variance_at(&ones));
        for _ in 0..HALVINGS {
            let middle = 0.5 * (low + high);
            if middle <= low || middle >= high {
                break;
            }
            match least_effort(fixed, &improvable, middle).map(|few| spread(&few)) {
                Some(fractions) if self.meets(&fractions)? => (low, best) = (middle, fractions),
                _ => high = middle,
            }
        }
        // a perfect input is out of reach, and so is one that only rounding lets pass
        Ok(Some(best).filter(|fractions| fractions.iter().all(|s| *s > PERFECT)))
    }

    /// The solution with its budget made anew, if that meets the target as well. Rounding may carry
    /// degrees of freedom past a whole number, so a little less is tried then.
    pub fn confirmed(
        &self,
        inputs: &InputSet,
        fractions: &[f64],
    ) -> Result<Option<(Vec<f64>, LeastEffort)>> {
        for less in [0.0, 1e-12, 1e-9, 1e-6] {
            let closer = |(s, group): (&f64, &Group)| {
                let lowest = group.improvable.lowest;
                if *s < 1.0 {
                    (s * (1.0 - less)).max(lowest)
                } else {
                    *s
                }
            };
            let fractions: Vec<f64> = fractions.iter().zip(&self.groups).map(closer).collect();
            let budget = self.improved(inputs, &fractions)?;
            let reached = budget.expanded(self.coverage_probability)?;
            if reached.expanded_uncertainty <= self.wanted * (1.0 + 1e-12) {
                let groups = self.groups.iter().zip(&fractions);
                let free = groups.filter(|(group, s)| group.held.is_none() && **s < 1.0);
                let effort = free.map(|(group, s)| group.improvable.effort(*s)).sum();
                let way = LeastEffort {
                    effort,
                    budget,
                    expanded: reached,
                };
                return Ok(Some((fractions, way)));
            }
        }
        Ok(None)
    }

    fn improved(&self, inputs: &InputSet, fractions: &[f64]) -> Result<Budget> {
        let mut better: Vec<Input> = inputs.inputs().to_vec();
        for (group, s) in self.groups.iter().zip(fractions) {
            for i in group.members.iter().filter(|_| *s < 1.0) {
                let old = &inputs.inputs()[*i];
                let u = old.standard_uncertainty() * s;
                better[*i] =
                    Input::with_standard_uncertainty(old.name(), old.estimate(), u, old.dof())?
                        .shown_in(old.unit().clone())
                        .in_component(old.component())
                        .evidence_in_words(format!("{}; to be improved", old.evidence()));
            }
        }
        let name = |i: usize| better[i].name().to_owned();
        let pairs = inputs.correlations().pairs();
        let pairs: Vec<_> = pairs.map(|(i, j, r)| (name(i), name(j), r)).collect();
        let gradient: Vec<f64> = self.budget.lines.iter().map(|l| l.sensitivity).collect();
        let inputs = InputSet::correlated(better, &pairs)?;
        Budget::from_gradient(
            self.budget.output.clone(),
            self.budget.estimate,
            &inputs,
            &gradient,
        )
    }
}
