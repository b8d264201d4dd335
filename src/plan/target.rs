//! The way to a wanted expanded uncertainty: each input alone, and all with the least effort.

use super::{Improvable, least_effort};
use crate::error::{Error, Result};
use crate::evaluate::Evaluation;
use crate::uncertainty::{
    Budget, Correlations, Expanded, Input, InputSet, effective_dof, expanded,
};
use crate::units::{Dimension, Unit, difference, quantity};

/// The expanded uncertainty that is wanted.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Wanted {
    /// As a fraction of the estimate.
    Relative(f64),
    /// In SI units.
    Absolute(f64),
}

impl Wanted {
    /// A wanted expanded uncertainty of a volume flow from text such as `1 %` or `8 m3/h`.
    ///
    /// # Errors
    /// Text that is neither a ratio nor a volume flow.
    pub fn parse(text: &str) -> Result<Wanted> {
        match quantity(text, Dimension::Ratio, "target") {
            Ok(read) => Ok(Wanted::Relative(read.si)),
            Err(Error::WrongDimension { .. } | Error::UnknownUnit { .. }) => {
                let read = quantity(text, Dimension::VolumeFlow, "target")?;
                Ok(Wanted::Absolute(read.si))
            }
            Err(other) => Err(other),
        }
    }

    fn at(self, estimate: f64) -> Result<f64> {
        let (stated, unit, si) = match self {
            Wanted::Relative(ratio) => (ratio, "", ratio * estimate.abs()),
            Wanted::Absolute(si) => (si, "m3/s", si),
        };
        let possible = si > 0.0 && si.is_finite();
        Error::range(possible, "target", stated, unit, "above 0")?;
        Ok(si)
    }
}

/// What is wanted and what may be done for it.
#[derive(Debug, Clone, PartialEq)]
pub struct TargetRequest {
    /// The expanded uncertainty that is wanted.
    pub wanted: Wanted,
    /// The price of effort by input, see [`Improvable::effort`]; inputs without a price stay as
    /// they are. `None`: the same price for every input that somebody measures or states.
    pub costs: Option<Vec<(String, f64)>>,
    /// The lowest standard uncertainty that can be had, by input, as text with a unit; zero where
    /// none is stated.
    pub lowest: Vec<(String, String)>,
}

/// What is asked of one input.
#[derive(Debug, Clone, PartialEq)]
pub struct Improvement {
    /// The input.
    pub input: String,
    /// Its component of the budget.
    pub component: String,
    /// The unit in which its uncertainty is shown.
    pub unit: Unit,
    /// Its standard uncertainty now, in SI units.
    pub standard_uncertainty: f64,
    /// Its share of the variance now.
    pub share: f64,
    /// The inputs with which it is correlated; they are improved together, by the same fraction.
    pub together_with: Vec<String>,
    /// Why it stays as it is, if it does.
    pub held: Option<&'static str>,
    /// The price of effort; zero where it stays as it is.
    pub cost: f64,
    /// The fraction of its standard uncertainty below which it cannot be brought.
    pub lowest: f64,
    /// The fraction that would be enough if nothing else were improved; `None` where it cannot reach
    /// the target alone.
    pub alone: Option<f64>,
    /// The fraction in the solution of least effort; one where it stays as it is.
    pub least_effort: Option<f64>,
}

/// The solution of least effort.
#[derive(Debug, Clone, PartialEq)]
pub struct LeastEffort {
    /// The total effort, in the unit of the costs.
    pub effort: f64,
    /// The budget with the improved inputs.
    pub budget: Budget,
    /// Its expanded uncertainty, with the coverage factor of its own degrees of freedom.
    pub expanded: Expanded,
}

/// The way to a wanted expanded uncertainty.
///
/// Sensitivities and the degrees of freedom of each input are held. The effective degrees of
/// freedom and the coverage factor are those of the improved budget, for each input alone as for all
/// together; for that coverage factor the effort is the least there is.
#[derive(Debug, Clone, PartialEq)]
pub struct Target {
    /// The estimate, in SI units.
    pub estimate: f64,
    /// The expanded uncertainty wanted, in SI units.
    pub wanted: f64,
    /// What is expected without improvement.
    pub before: Expanded,
    /// What is left with every input at its lowest that can be improved.
    pub lowest: Expanded,
    /// Inputs that are not exact, by falling share of the variance.
    pub improvements: Vec<Improvement>,
    /// The solution of least effort; `None` where the target cannot be reached.
    pub least_effort: Option<LeastEffort>,
    /// The unit in which the output is shown.
    pub unit: Unit,
}

/// Halvings of the variance that is looked for; sixty are enough for the last bit.
const HALVINGS: usize = 200;

/// The fraction of a standard uncertainty below which an input counts as perfect.
const PERFECT: f64 = 1e-6;

const DERIVED: &str = "derived, nobody states it";
const NO_COST: &str = "no cost given";
const PARTNER: &str = "correlated with an input that stays";

impl Evaluation {
    /// The way to a wanted expanded uncertainty of the flow: for a measurement that was made.
    ///
    /// # Errors
    /// As [`Target::of`].
    ///
    /// # Example
    /// ```
    /// use flowdoubt::{evaluate::Readings, plan::{TargetRequest, Wanted}, site::Site};
    /// let site = Site::load("notebooks/demo/site.toml")?;
    /// let evaluation = site.evaluate(&Readings::from_csv("notebooks/demo/readings.csv")?)?;
    /// let request = TargetRequest {
    ///     wanted: Wanted::parse("1.5 %")?,
    ///     costs: None,
    ///     lowest: Vec::new(),
    /// };
    /// let target = evaluation.target(&request)?;
    /// let way = target.least_effort.expect("reachable");
    /// assert!((way.expanded.expanded_uncertainty / evaluation.estimate() / 0.015 - 1.0).abs() < 1e-3);
    /// # Ok::<(), flowdoubt::Error>(())
    /// ```
    pub fn target(&self, request: &TargetRequest) -> Result<Target> {
        let p = self.site.coverage_probability;
        let somebodys = |name: &str| self.is_stated_or_read(name);
        Target::of(&self.budget, &self.inputs, p, request, &somebodys)
    }

    /// Whether an input is stated in the site file or read, and not derived from formulations.
    fn is_stated_or_read(&self, name: &str) -> bool {
        let stated = self.site.stated.iter().map(|(_, input)| input.name());
        let of_fitting =
            ["straight_run", "orientation"].map(|key| format!("installation.factor.{key}"));
        name.starts_with("readings.")
            || name == "liquid.temperature"
            || of_fitting.iter().any(|own| own == name)
            || stated.into_iter().any(|own| own == name)
    }
}

/// Inputs that are improved by the same fraction.
struct Group {
    members: Vec<usize>,
    improvable: Improvable,
    held: Option<&'static str>,
}

/// The variance of a budget as a function of the fractions of its groups.
struct Problem<'a> {
    budget: &'a Budget,
    groups: Vec<Group>,
    coverage_probability: f64,
    wanted: f64,
}

impl Target {
    /// The way to a wanted expanded uncertainty of any budget. `is_improvable` tells which inputs
    /// have a price where the request states none.
    ///
    /// # Errors
    /// A target that is not above 0, a cost that is not above 0, names that are no inputs, a lowest
    /// uncertainty that is no difference of its input's kind, costs for some of the inputs that are
    /// correlated but not for all.
    pub fn of(
        budget: &Budget,
        inputs: &InputSet,
        coverage_probability: f64,
        request: &TargetRequest,
        is_improvable: &dyn Fn(&str) -> bool,
    ) -> Result<Target> {
        let wanted = request.wanted.at(budget.estimate)?;
        let problem = Problem {
            budget,
            groups: groups_of(budget, inputs, request, is_improvable)?,
            coverage_probability,
            wanted,
        };
        let all: Vec<usize> = (0..problem.groups.len()).collect();
        let before = problem.expanded_at(&vec![1.0; all.len()])?;
        let lowest = problem.expanded_at(&problem.lowest())?;
        let together = problem.solve(&all)?;
        let confirmed = match together {
            Some(fractions) => problem.confirmed(inputs, &fractions)?,
            None => None,
        };
        let mut improvements = Vec::new();
        for (g, group) in problem.groups.iter().enumerate() {
            let alone = match group.held {
                None => problem.solve(&[g])?,
                Some(_) => None,
            };
            for i in &group.members {
                let line = &budget.lines[*i];
                let others = group.members.iter().filter(|j| *j != i);
                improvements.push(Improvement {
                    input: line.input.name().to_owned(),
                    component: line.input.component().to_owned(),
                    unit: line.input.unit().of_differences(),
                    standard_uncertainty: line.input.standard_uncertainty(),
                    share: line.share,
                    together_with: others
                        .map(|j| budget.lines[*j].input.name().to_owned())
                        .collect(),
                    held: group.held,
                    cost: cost_of(request, line.input.name(), group.held),
                    lowest: group.improvable.lowest,
                    alone: alone.as_ref().map(|fractions| fractions[g]),
                    least_effort: confirmed.as_ref().map(|(fractions, _)| fractions[g]),
                });
            }
        }
        improvements.sort_by(|a, b| b.share.abs().total_cmp(&a.share.abs()));
        Ok(Target {
            estimate: budget.estimate,
            wanted,
            before,
            lowest,
            improvements,
            least_effort: confirmed.map(|(_, way)| way),
            unit: budget.output.unit.clone(),
        })
    }

    /// Whether the target can be reached.
    pub fn is_reachable(&self) -> bool {
        self.least_effort.is_some()
    }

    /// Whether it is reached without any improvement.
    pub fn is_met(&self) -> bool {
        self.before.expanded_uncertainty <= self.wanted
    }
}

/// The price of one input in a group that is not held.
fn cost_of(request: &TargetRequest, name: &str, held: Option<&'static str>) -> f64 {
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
fn groups_of(
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
    fn lowest(&self) -> Vec<f64> {
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
    fn expanded_at(&self, fractions: &[f64]) -> Result<Expanded> {
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
    fn solve(&self, free: &[usize]) -> Result<Option<Vec<f64>>> {
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
    fn confirmed(
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
        let correlations = inputs.correlations();
        let mut pairs = Vec::new();
        if correlations.any() {
            for i in 0..better.len() {
                for j in 0..i {
                    let r = correlations.coefficient(i, j);
                    if r != 0.0 {
                        let name = |i: usize| better[i].name().to_owned();
                        pairs.push((name(i), name(j), r));
                    }
                }
            }
        }
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
