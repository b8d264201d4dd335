//! Planning: expected uncertainty over flows, and the way to a target.

use super::budget::{Budget, Expanded};
use super::comparison::PlanComparison;
use super::evaluation::Evaluation;
use super::kit::{Day, Inventory, day_of};
use super::readings::readings_of;
use super::rows::entries;
use super::site::Site;
use super::stress_test::StressTest;
use super::user_class::{Made, taken};
use super::watched::watched;
use crate::error::{Error, Result};
use crate::evaluate::Channel;
use crate::kit::{OwnedPlan, OwnedRequest};
use crate::model::Basis;
use crate::plan::{
    self as core, ComparisonRequest, Repeatability, Room, Row, Scatter, TargetRequest, Wanted,
};
use crate::site::Change;
use crate::units::{Dimension, quantity};
use numpy::ToPyArray;
use pyo3::exceptions::PyIndexError;
use pyo3::prelude::*;
use pyo3::types::PyDict;
use std::sync::Arc;

pub(super) fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add_class::<Plan>()?;
    module.add_class::<PlanComparison>()?;
    module.add_class::<Target>()?;
    module.add_function(wrap_pyfunction!(plan_site, module)?)?;
    module.add_function(wrap_pyfunction!(target_of, module)?)
}

/// Text with a unit, or a number in SI units.
#[derive(FromPyObject)]
enum Amount {
    Text(String),
    Number(f64),
}

impl Amount {
    fn si(&self, dimension: Dimension, field: &str) -> Result<f64> {
        match self {
            Amount::Text(text) => Ok(quantity(text, dimension, field)?.si),
            Amount::Number(number) => Ok(*number),
        }
    }

    fn wanted(&self) -> Result<Wanted> {
        match self {
            Amount::Text(text) => Wanted::parse(text),
            Amount::Number(ratio) => Ok(Wanted::Relative(*ratio)),
        }
    }
}

fn all_si(amounts: &[Amount], dimension: Dimension, name: &str) -> Result<Vec<f64>> {
    let amounts = amounts.iter().enumerate();
    amounts
        .map(|(i, amount)| amount.si(dimension, &format!("{name}[{i}]")))
        .collect()
}

type Costs = Option<Vec<(String, f64)>>;
type Lowest = Vec<(String, String)>;

fn request_of(wanted: &Amount, costs: Costs, lowest: Lowest) -> Result<TargetRequest> {
    Ok(TargetRequest {
        wanted: wanted.wanted()?,
        costs,
        lowest,
    })
}

/// What an alternative changes: traverses, basis, straight run, orientation, planes.
type Changed = (
    Option<u32>,
    Option<String>,
    Option<String>,
    Option<String>,
    Option<u32>,
);

fn change_of((traverses, basis, straight_run, orientation, planes): Changed) -> Result<Change> {
    let basis = basis.map(|name| Basis::from_name(&name, "bases"));
    Ok(Change {
        traverses,
        basis: basis.transpose()?,
        straight_run,
        orientation,
        planes,
        instruments: None,
    })
}

/// By what alternatives are compared: target, free length, rail, efforts by label.
type ComparedBy = (
    Option<Amount>,
    Option<Amount>,
    Option<[Amount; 2]>,
    Vec<(String, f64)>,
);

fn comparison_of((wanted, free, rail, efforts): ComparedBy) -> Result<ComparisonRequest> {
    let length = |amount: &Amount, name: &str| amount.si(Dimension::Length, name);
    let rail = rail.map(|[shortest, longest]| {
        let shortest = length(&shortest, "rail[0]")?;
        Ok::<_, Error>([shortest, length(&longest, "rail[1]")?])
    });
    Ok(ComparisonRequest {
        wanted: wanted.map(|wanted| wanted.wanted()).transpose()?,
        room: Room {
            free_length: free.map(|free| length(&free, "free_length")).transpose()?,
            rail: rail.transpose()?,
        },
        efforts,
    })
}

/// The expected uncertainty over flows, temperatures and alternatives. Scatter comes from texts by
/// channel or from readings.
#[pyfunction]
#[allow(clippy::too_many_arguments, reason = "the parts of a request")]
fn plan_site(
    py: Python<'_>,
    site: &Bound<'_, Site>,
    flows: Vec<Amount>,
    temperatures: Vec<Amount>,
    alternatives: Vec<Changed>,
    scatter: Vec<(String, Vec<String>)>,
    trial_run: Option<&Bound<'_, PyAny>>,
    readings: Option<usize>,
    compared_by: ComparedBy,
    owned: Option<(Bound<'_, Inventory>, Day)>,
) -> PyResult<Made<Plan>> {
    let mut repeatability = match trial_run {
        Some(readings) => {
            Repeatability::as_in(&readings_of(readings, site.get().0.table_options())?)?
        }
        None => Repeatability::default(),
    };
    for (name, texts) in scatter {
        let channel = Channel::from_name(&name, "scatter")?;
        repeatability = repeatability.with_scatter(channel, Scatter::parse(channel, &texts)?);
    }
    if let Some(readings) = readings {
        repeatability = repeatability.with_readings(readings)?;
    }
    let alternatives = alternatives.into_iter().map(change_of);
    let request = core::PlanRequest {
        flows: all_si(&flows, Dimension::VolumeFlow, "flows")?,
        temperatures: all_si(&temperatures, Dimension::Temperature, "temperatures")?,
        alternatives: alternatives.collect::<Result<_>>()?,
        repeatability,
        comparison: comparison_of(compared_by)?,
    };
    let site = &site.get().0;
    let Some((inventory, day)) = owned else {
        let plan = watched(py, None, |watch| site.plan_watched(&request, watch))?;
        return Ok(Made(Plan {
            plan: Arc::new(plan),
            targets: None,
            owned: None,
        }));
    };
    let request = OwnedRequest {
        plan: request,
        day: day_of(Vec::new(), day)?,
    };
    let inventory = &inventory.get().0;
    let owned = watched(py, None, |watch| {
        site.plan_owned_watched(inventory, &request, watch)
    })?;
    Ok(Made(Plan {
        plan: Arc::clone(&owned.plan),
        targets: None,
        owned: Some(Arc::new(owned)),
    }))
}

/// The way to a target for a measurement that was made.
#[pyfunction]
fn target_of(
    py: Python<'_>,
    evaluation: &Bound<'_, Evaluation>,
    wanted: Amount,
    costs: Costs,
    lowest: Lowest,
) -> PyResult<Made<Target>> {
    let request = request_of(&wanted, costs, lowest)?;
    let evaluation = &evaluation.get().0;
    Ok(Made(Target(py.detach(|| evaluation.target(&request))?)))
}

/// The uncertainty to expect, point by point: what `Site.plan` returns.
///
/// Points are counted from 0, by alternative, then by temperature, then by flow. ``to_pandas()`` and
/// ``to_polars()`` have one row a point; ``print`` and notebooks show a table.
#[pyclass(frozen, subclass, module = "flowdoubt._core")]
pub(super) struct Plan {
    plan: Arc<core::Plan>,
    targets: Option<Arc<Vec<Option<core::Target>>>>,
    owned: Option<Arc<OwnedPlan>>,
}

impl Plan {
    fn targets_given(&self) -> Option<&[Option<core::Target>]> {
        self.targets.as_ref().map(|targets| targets.as_slice())
    }

    fn shown_rows(&self, rows: Vec<Row>) -> Vec<Row> {
        let unit = &self.plan.site.flow_unit;
        let rows = rows.into_iter();
        rows.map(|row| core::row_shown_in(row, unit)).collect()
    }

    fn point(&self, point: usize) -> PyResult<&core::Point> {
        let points = &self.plan.points;
        points.get(point).ok_or_else(|| {
            let last = points.len().saturating_sub(1);
            PyIndexError::new_err(format!("point: found {point}; allowed: 0 to {last}"))
        })
    }

    /// What is expected at a point; the error of a point without a result.
    fn expected(&self, point: usize) -> PyResult<&core::Expected> {
        let expected = self.point(point)?.expected.as_ref();
        expected.map_err(|why| PyErr::from(why.clone()))
    }
}

#[pymethods]
impl Plan {
    #[new]
    fn new(value: &Bound<'_, PyAny>) -> PyResult<Self> {
        taken(value, "`site.plan(flows)`")
    }

    /// The name of the site.
    #[getter]
    fn site(&self) -> &str {
        &self.plan.site.name
    }

    /// The unit of the flows.
    #[getter]
    fn flow_unit(&self) -> &str {
        &self.plan.site.flow_unit.symbol
    }

    /// The coverage probability of the site.
    #[getter]
    fn coverage_probability(&self) -> f64 {
        self.plan.site.coverage_probability
    }

    /// Number of readings that are planned at each point.
    #[getter]
    fn readings(&self) -> usize {
        self.plan.repeatability.readings()
    }

    /// The alternatives in words, in order.
    #[getter]
    fn alternatives(&self) -> Vec<&str> {
        let alternatives = self.plan.alternatives.iter();
        alternatives.map(|a| a.label.as_str()).collect()
    }

    /// The text of the site file of an alternative.
    ///
    /// Parameters
    /// ----------
    /// alternative
    ///     The alternative, by its label in `alternatives`.
    ///
    /// Returns
    /// -------
    /// str
    ///     TOML.
    ///
    /// Raises
    /// ------
    /// InputError
    ///     An alternative that the plan does not have.
    /// FlowdoubtError
    ///     An alternative that the site file cannot serve.
    ///
    /// Examples
    /// --------
    /// >>> import flowdoubt as fd
    /// >>> site = fd.Site.load("notebooks/demo/site.toml")
    /// >>> plan = site.plan(["500 m3/h", "1000 m3/h"], "8 degC", target="3 %")
    /// >>> "[pipe]" in plan.site_text("as stated")
    /// True
    fn site_text(&self, alternative: &str) -> PyResult<String> {
        let alternatives = &self.plan.alternatives;
        let labels: Vec<&str> = alternatives.iter().map(|a| a.label.as_str()).collect();
        let found = alternatives.iter().find(|a| a.label == alternative);
        let found =
            found.ok_or_else(|| Error::unknown_name("alternative", alternative, &labels))?;
        Ok(found.site.clone()?.text().to_owned())
    }

    /// One dictionary for each point, all with the same keys; flows in the unit of the site.
    #[getter]
    fn points<'py>(&self, py: Python<'py>) -> PyResult<Vec<Bound<'py, PyDict>>> {
        self.rows(py, false)
    }

    /// The points as dictionaries, flows in the unit of the site or in m3/s.
    ///
    /// Parameters
    /// ----------
    /// si
    ///     Flows in m3/s, and not in the unit of the site.
    ///
    /// Returns
    /// -------
    /// list of dict
    ///     One for each point.
    ///
    /// Examples
    /// --------
    /// >>> import flowdoubt as fd
    /// >>> site = fd.Site.load("notebooks/demo/site.toml")
    /// >>> plan = site.plan(["500 m3/h", "1000 m3/h"], "8 degC", target="3 %")
    /// >>> plan.rows()[0]["feasible"]
    /// True
    #[pyo3(signature = (si = false))]
    fn rows<'py>(&self, py: Python<'py>, si: bool) -> PyResult<Vec<Bound<'py, PyDict>>> {
        let rows = py.detach(|| self.plan.rows())?;
        entries(py, if si { rows } else { self.shown_rows(rows) })
    }

    /// One dictionary for each point and input.
    #[getter]
    fn contributions<'py>(&self, py: Python<'py>) -> PyResult<Vec<Bound<'py, PyDict>>> {
        entries(py, self.shown_rows(self.plan.contribution_rows()))
    }

    /// What does not fit of the instruments that were tried, as dictionaries: alternative, thing, what
    /// kind of misfit, and why. Empty where no instruments were given.
    #[getter]
    fn not_fitting<'py>(&self, py: Python<'py>) -> PyResult<Vec<Bound<'py, PyDict>>> {
        let rows = self.owned.as_ref().map(|owned| owned.not_fitting_rows());
        entries(py, rows.unwrap_or_default())
    }

    /// The cheapest alternative that fits and reaches the target everywhere, with its cost; `None`
    /// without target, without costs or without such an alternative.
    #[getter]
    fn cheapest_on_target(&self) -> PyResult<Option<(&str, f64)>> {
        let Some(owned) = &self.owned else {
            return Ok(None);
        };
        let found = owned.cheapest_on_target()?;
        Ok(found.map(|(i, cost)| (self.plan.alternatives[i].label.as_str(), cost)))
    }

    /// One dictionary for each alternative and temperature.
    #[getter]
    fn windows<'py>(&self, py: Python<'py>) -> PyResult<Vec<Bound<'py, PyDict>>> {
        let rows = watched(py, None, |watch| self.plan.window_rows(watch))?;
        entries(py, self.shown_rows(rows))
    }

    /// The budget to expect at a point, by its number.
    ///
    /// Parameters
    /// ----------
    /// point
    ///     The number of the point, from 0.
    ///
    /// Returns
    /// -------
    /// Budget
    ///     The budget.
    ///
    /// Raises
    /// ------
    /// IndexError
    ///     A number beyond the last point.
    /// FlowdoubtError
    ///     A point without a result, a negative number.
    ///
    /// Examples
    /// --------
    /// >>> import flowdoubt as fd
    /// >>> site = fd.Site.load("notebooks/demo/site.toml")
    /// >>> plan = site.plan(["500 m3/h", "1000 m3/h"], "8 degC", target="3 %")
    /// >>> plan.budget(0).output
    /// 'volume flow'
    fn budget(&self, point: usize) -> PyResult<Made<Budget>> {
        Ok(Made(Budget(self.expected(point)?.budget().clone())))
    }

    /// The stress test of a point, before anybody goes there.
    ///
    /// Parameters
    /// ----------
    /// point
    ///     The number of the point, from 0.
    /// wrong
    ///     By how much statements are wrong: a difference as text with a unit, such as ``"0.3
    ///     mm"``, or ``"-2 %"`` of the estimate, by the name of the input. If not given, every
    ///     input with a thousandth of the variance or more is wrong by two of its standard
    ///     uncertainties in turn.
    /// trials
    ///     Number of made-up truths.
    /// seed
    ///     The seed of the draws: the same seed gives the same bits.
    ///
    /// Returns
    /// -------
    /// StressTest
    ///     How often the interval holds the truth.
    ///
    /// Raises
    /// ------
    /// IndexError
    ///     A number beyond the last point.
    /// InputError
    ///     An input that the point does not have, a negative number.
    /// UnitError
    ///     Text that is no difference of the kind of its input.
    /// RangeError
    ///     Trials outside 100 to 2e8, an input with 2 degrees of freedom or fewer.
    /// TrialsError
    ///     A trial without a finite result.
    /// FlowdoubtError
    ///     A point without a result.
    ///
    /// Examples
    /// --------
    /// >>> import flowdoubt as fd
    /// >>> site = fd.Site.load("notebooks/demo/site.toml")
    /// >>> plan = site.plan(["500 m3/h", "1000 m3/h"], "8 degC", target="3 %")
    /// >>> round(plan.stress_test(0, trials=10_000).held, 2)
    /// 0.96
    #[pyo3(signature = (point = 0, wrong = None, *, trials = 100_000, seed = 1))]
    fn stress_test(
        &self,
        py: Python<'_>,
        point: usize,
        wrong: Option<&Bound<'_, PyDict>>,
        trials: u64,
        seed: u64,
    ) -> PyResult<StressTest> {
        let evaluation = self.expected(point)?.evaluation();
        StressTest::of(py, evaluation, wrong, trials, seed)
    }

    /// Warnings as pairs of a code that never changes and words.
    ///
    /// Parameters
    /// ----------
    /// point
    ///     The number of the point, from 0.
    ///
    /// Returns
    /// -------
    /// list of tuple of str
    ///     A code that never changes, and words.
    ///
    /// Raises
    /// ------
    /// IndexError
    ///     A number beyond the last point.
    /// FlowdoubtError
    ///     A point without a result, a negative number.
    ///
    /// Examples
    /// --------
    /// >>> import flowdoubt as fd
    /// >>> site = fd.Site.load("notebooks/demo/site.toml")
    /// >>> plan = site.plan(["500 m3/h", "1000 m3/h"], "8 degC", target="3 %")
    /// >>> plan.warnings(0)
    /// []
    fn warnings(&self, point: usize) -> PyResult<Vec<(&'static str, String)>> {
        let warnings = self.expected(point)?.warnings().into_iter();
        Ok(warnings.map(|w| (w.code, w.words)).collect())
    }

    /// Made-up readings with the planned means and scatter, by the names of columns.
    ///
    /// Parameters
    /// ----------
    /// point
    ///     The number of the point, from 0.
    ///
    /// Returns
    /// -------
    /// dict of ndarray
    ///     Readings by the name of their column, as `Site.evaluate` takes them.
    ///
    /// Raises
    /// ------
    /// IndexError
    ///     A number beyond the last point.
    /// FlowdoubtError
    ///     A point without a result, a negative number.
    ///
    /// Examples
    /// --------
    /// >>> import flowdoubt as fd
    /// >>> site = fd.Site.load("notebooks/demo/site.toml")
    /// >>> plan = site.plan(["500 m3/h", "1000 m3/h"], "8 degC", target="3 %")
    /// >>> list(plan.rehearsal(0))
    /// ['time_difference_s', 'transit_time_s', 'temperature_K']
    fn rehearsal<'py>(&self, py: Python<'py>, point: usize) -> PyResult<Bound<'py, PyDict>> {
        let columns = PyDict::new(py);
        for (name, values) in self.expected(point)?.rehearsal() {
            columns.set_item(name, values.to_pyarray(py))?;
        }
        Ok(columns)
    }

    /// The same plan with the way to a target for each point.
    fn _towards(
        &self,
        py: Python<'_>,
        wanted: Amount,
        costs: Costs,
        lowest: Lowest,
    ) -> PyResult<Made<Plan>> {
        let request = request_of(&wanted, costs, lowest)?;
        let targets = watched(py, None, |watch| self.plan.targets_watched(&request, watch))?;
        Ok(Made(Plan {
            plan: Arc::clone(&self.plan),
            targets: Some(Arc::new(targets)),
            owned: self.owned.clone(),
        }))
    }

    /// The alternatives side by side: ranked by uncertainty, by effort and by spacing.
    #[getter]
    fn comparison(&self, py: Python<'_>) -> PyResult<Made<PlanComparison>> {
        Ok(Made(PlanComparison(py.detach(|| self.plan.comparison())?)))
    }

    /// Whether there is something to compare.
    #[getter]
    fn _compares(&self) -> bool {
        self.plan.compares()
    }

    /// The expanded uncertainty that is wanted at each point in `flow_unit`; `None` without target.
    #[getter]
    fn _wanted(&self) -> PyResult<Option<(String, Vec<f64>)>> {
        let Some(wanted) = self.plan.comparison.wanted else {
            return Ok(None);
        };
        let unit = &self.plan.site.flow_unit;
        let points = self.plan.points.iter();
        let limits = points.map(|point| {
            let si = wanted.at(point.conditions.volume_flow)?;
            Ok(unit.difference_from_si(si))
        });
        let limits = limits.collect::<Result<_>>()?;
        Ok(Some((wanted.in_words(unit), limits)))
    }

    /// The way to the target at each point; `None` where there is no result.
    #[getter]
    fn targets(&self) -> Option<Vec<Option<Made<Target>>>> {
        let targets = self.targets_given()?.iter();
        Some(
            targets
                .map(|target| target.clone().map(|t| Made(Target(t))))
                .collect(),
        )
    }

    /// Whether the target can be reached at each flow and temperature by one alternative at least.
    #[getter]
    fn reachable(&self) -> Option<bool> {
        let targets = self.targets_given()?;
        Some(self.plan.all_reachable(targets))
    }

    /// Points as words rounded for display.
    ///
    /// Returns
    /// -------
    /// list of list of str
    ///     A list of texts for each point.
    ///
    /// Examples
    /// --------
    /// >>> import flowdoubt as fd
    /// >>> site = fd.Site.load("notebooks/demo/site.toml")
    /// >>> plan = site.plan(["500 m3/h", "1000 m3/h"], "8 degC", target="3 %")
    /// >>> plan.shown()[0][:2]
    /// ['500 m3/h', '8 degC']
    fn shown(&self) -> PyResult<Vec<[String; 5]>> {
        Ok(self.plan.shown()?)
    }

    /// The plan as JSON text.
    ///
    /// Returns
    /// -------
    /// str
    ///     JSON in SI units, the units in the names.
    ///
    /// Examples
    /// --------
    /// >>> import flowdoubt as fd
    /// >>> site = fd.Site.load("notebooks/demo/site.toml")
    /// >>> plan = site.plan(["500 m3/h", "1000 m3/h"], "8 degC", target="3 %")
    /// >>> plan.to_json()[:1]
    /// '{'
    fn to_json(&self, py: Python<'_>) -> PyResult<String> {
        watched(py, None, |watch| {
            self.plan.to_json_watched(self.targets_given(), watch)
        })
    }

    /// The plan in words.
    ///
    /// Returns
    /// -------
    /// str
    ///     Lines of text.
    ///
    /// Examples
    /// --------
    /// >>> import flowdoubt as fd
    /// >>> site = fd.Site.load("notebooks/demo/site.toml")
    /// >>> plan = site.plan(["500 m3/h", "1000 m3/h"], "8 degC", target="3 %")
    /// >>> plan.in_words().splitlines()[0]
    /// 'Harrowmere district cooling, plant 2, supply main'
    fn in_words(&self, py: Python<'_>) -> PyResult<String> {
        let text = watched(py, None, |watch| {
            self.plan.in_words_watched(self.targets_given(), watch)
        })?;
        let told = self.owned.as_ref().map(|owned| owned.in_words());
        Ok(text + &told.transpose()?.unwrap_or_default())
    }

    fn __len__(&self) -> usize {
        self.plan.points.len()
    }

    fn __repr__(&self) -> String {
        let (name, points) = (&self.plan.site.name, self.plan.points.len());
        let alternatives = self.plan.alternatives.len();
        format!("<Plan of {name:?}: {points} points, {alternatives} alternatives>")
    }

    fn __str__(&self, py: Python<'_>) -> PyResult<String> {
        self.in_words(py)
    }
}

/// The way to a wanted expanded uncertainty; true if it can be reached.
///
/// ``wanted`` and ``estimate`` are in ``unit``, ``expanded`` is what is expected without improvement,
/// ``lowest`` what is left with every input at its lowest. ``improvements`` has for each input the
/// fraction of its standard uncertainty that would do alone, and the one in the solution of least
/// effort; ``improved`` and ``budget`` belong to that solution, ``effort`` is its price.
#[pyclass(frozen, subclass, module = "flowdoubt._core")]
pub(super) struct Target(core::Target);

#[pymethods]
impl Target {
    #[new]
    fn new(value: &Bound<'_, PyAny>) -> PyResult<Self> {
        taken(value, "`evaluation.target(...)`, or the targets of a plan")
    }

    /// The unit of estimate and wanted expanded uncertainty.
    #[getter]
    fn unit(&self) -> &str {
        &self.0.unit.symbol
    }

    /// The estimate, in `unit`.
    #[getter]
    fn estimate(&self) -> f64 {
        self.0.unit.from_si(self.0.estimate)
    }

    /// The expanded uncertainty that is wanted, in `unit`.
    #[getter]
    fn wanted(&self) -> f64 {
        self.0.unit.difference_from_si(self.0.wanted)
    }

    /// The expanded uncertainty as it is.
    #[getter]
    fn expanded(&self) -> Expanded {
        Expanded::of(self.0.before, &self.0.unit)
    }

    /// The expanded uncertainty if everything that can be improved were.
    #[getter]
    fn lowest(&self) -> Expanded {
        Expanded::of(self.0.lowest, &self.0.unit)
    }

    /// Whether it can be reached.
    #[getter]
    fn reachable(&self) -> bool {
        self.0.is_reachable()
    }

    /// Whether the target is met as it is.
    #[getter]
    fn met(&self) -> bool {
        self.0.is_met()
    }

    /// The least effort; `None` where the target cannot be reached.
    #[getter]
    fn effort(&self) -> Option<f64> {
        self.0.least_effort.as_ref().map(|way| way.effort)
    }

    /// The expanded uncertainty after the least effort; `None` where the target cannot be reached.
    #[getter]
    fn improved(&self) -> Option<Expanded> {
        let way = self.0.least_effort.as_ref();
        way.map(|way| Expanded::of(way.expanded, &self.0.unit))
    }

    /// The budget after the least effort; `None` where the target cannot be reached.
    #[getter]
    fn budget(&self) -> Option<Made<Budget>> {
        let way = self.0.least_effort.as_ref();
        way.map(|way| Made(Budget(way.budget.clone())))
    }

    /// What is asked of each input, as dictionaries.
    #[getter]
    fn improvements<'py>(&self, py: Python<'py>) -> PyResult<Vec<Bound<'py, PyDict>>> {
        entries(py, self.0.rows())
    }

    /// The improvements as words rounded for display.
    ///
    /// Returns
    /// -------
    /// list of list of str
    ///     A list of texts for each input.
    ///
    /// Examples
    /// --------
    /// >>> import flowdoubt as fd
    /// >>> site = fd.Site.load("notebooks/demo/site.toml")
    /// >>> evaluation = site.evaluate("notebooks/demo/readings.csv")
    /// >>> target = evaluation.target("2 %")
    /// >>> target.shown()[0][0]
    /// 'installation.factor'
    fn shown(&self) -> Vec<Vec<String>> {
        self.0.shown()
    }

    /// The way to the target in one line.
    #[getter]
    fn headline(&self) -> String {
        self.0.headline()
    }

    /// The way to the target as JSON text.
    ///
    /// Returns
    /// -------
    /// str
    ///     JSON in SI units, the units in the names.
    ///
    /// Examples
    /// --------
    /// >>> import flowdoubt as fd
    /// >>> site = fd.Site.load("notebooks/demo/site.toml")
    /// >>> evaluation = site.evaluate("notebooks/demo/readings.csv")
    /// >>> target = evaluation.target("2 %")
    /// >>> target.to_json()[:1]
    /// '{'
    fn to_json(&self) -> String {
        self.0.to_json()
    }

    fn __bool__(&self) -> bool {
        self.0.is_reachable()
    }

    fn __repr__(&self) -> String {
        format!("<Target: {}>", self.0.headline())
    }

    fn __str__(&self) -> String {
        self.0.in_words()
    }
}
