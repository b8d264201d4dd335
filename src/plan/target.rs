//! The way to a wanted expanded uncertainty: each input alone, and all with the least effort.

use super::improved_variance::{LeastEffort, Problem, cost_of, groups_of};
use super::target_request::TargetRequest;
use crate::error::Result;
use crate::evaluate::Evaluation;
use crate::uncertainty::{Budget, Expanded, InputSet};
use crate::units::Unit;

/// What is asked of one input.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
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

/// The way to a wanted expanded uncertainty.
///
/// Sensitivities and the degrees of freedom of each input are held. The effective degrees of
/// freedom and the coverage factor are those of the improved budget, for each input alone as for all
/// together; for that coverage factor the effort is the least there is.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
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
    ///     wanted: Wanted::parse("2.6 %")?,
    ///     costs: None,
    ///     lowest: Vec::new(),
    /// };
    /// let target = evaluation.target(&request)?;
    /// let way = target.least_effort.expect("reachable");
    /// assert!((way.expanded.expanded_uncertainty / evaluation.estimate() / 0.026 - 1.0).abs() < 1e-3);
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
