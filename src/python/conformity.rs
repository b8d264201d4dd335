//! Conformity and the risks of a wrong decision.

use super::budget::Budget;
use super::elementwise::elementwise;
use super::evaluation::Evaluation;
use super::inputs::Input;
use super::trials::Trials;
use crate::error::{Error, Result};
use crate::uncertainty::conformity::{self as core, DecisionRule, LimitSide, StandardUncertainty};
use crate::uncertainty::{self, Distribution};
use numpy::{PyArray1, PyReadonlyArray1, ToPyArray};
use pyo3::prelude::*;

type Array<'py> = Bound<'py, PyArray1<f64>>;
type Argument<'py> = PyReadonlyArray1<'py, f64>;

pub(super) fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add_class::<Permissible>()?;
    module.add_class::<SpecificRisks>()?;
    module.add_class::<ItemsAndMeasurement>()?;
    module.add_class::<GlobalRisks>()?;
    module.add_function(wrap_pyfunction!(acceptance_limit, module)?)
}

/// Whatever a quantity is known from.
#[derive(FromPyObject)]
enum Quantity<'py> {
    Input(Bound<'py, Input>),
    Budget(Bound<'py, Budget>),
    Evaluation(Bound<'py, Evaluation>),
    Trials(Bound<'py, Trials>),
}

/// Normal, or Student's t for finite degrees of freedom.
fn of_estimate(estimate: f64, u: f64, dof: f64) -> Result<Distribution> {
    let name = "standard_uncertainty";
    let input = uncertainty::Input::with_standard_uncertainty(name, estimate, u, dof)?;
    Ok(input.distribution().clone())
}

impl Quantity<'_> {
    fn distribution(&self) -> Result<Distribution> {
        let of_budget = |budget: &uncertainty::Budget| {
            let (y, u) = budget.result_shown();
            of_estimate(y, u, budget.effective_dof)
        };
        match self {
            Quantity::Input(input) => Ok(input.get().0.distribution().clone()),
            Quantity::Budget(budget) => of_budget(&budget.get().0),
            Quantity::Evaluation(evaluation) => of_budget(&evaluation.get().0.budget),
            Quantity::Trials(trials) => {
                let trials = &trials.get().0;
                Distribution::of_sample(&trials.sorted_in(&trials.output.unit))
            }
        }
    }
}

/// An interval of permissible values, with one or two limits, which belong to it
/// (JCGM 106:2012, 3.3.5 and 3.3.9).
#[pyclass(frozen, eq, module = "flowdoubt")]
#[derive(PartialEq)]
pub(super) struct Permissible(core::Permissible);

#[pymethods]
impl Permissible {
    #[new]
    #[pyo3(signature = (lower = None, upper = None))]
    fn new(lower: Option<f64>, upper: Option<f64>) -> PyResult<Permissible> {
        Ok(Permissible(core::Permissible::new(lower, upper)?))
    }

    /// Both limits at equal distance from `nominal`.
    ///
    /// Parameters
    /// ----------
    /// nominal
    ///     The middle.
    /// largest_deviation
    ///     The distance of either limit, above 0.
    ///
    /// Returns
    /// -------
    /// Permissible
    ///     The interval.
    ///
    /// Raises
    /// ------
    /// RangeError
    ///     Numbers that are not finite, a deviation that is not above 0.
    #[staticmethod]
    fn about(nominal: f64, largest_deviation: f64) -> PyResult<Permissible> {
        let both = core::Permissible::about(nominal, largest_deviation)?;
        Ok(Permissible(both))
    }

    /// The lower limit; `-inf` where there is none.
    #[getter]
    fn lower(&self) -> f64 {
        self.0.lower()
    }

    /// The upper limit; `inf` where there is none.
    #[getter]
    fn upper(&self) -> f64 {
        self.0.upper()
    }

    /// Whether values of any shape lie within; the limits themselves do.
    ///
    /// Parameters
    /// ----------
    /// values
    ///     Values, of any shape.
    ///
    /// Returns
    /// -------
    /// bool or ndarray
    ///     Of the shape of `values`.
    ///
    /// Raises
    /// ------
    /// RangeError
    ///     Values that are NaN.
    /// InputError
    ///     Masked elements, or text that is no number.
    ///
    /// Examples
    /// --------
    /// >>> from flowdoubt import conformity
    /// >>> limits = conformity.tolerance_interval(12.5, 16.3)
    /// >>> limits.contains(13.6)
    /// True
    fn contains<'py>(&self, values: &Bound<'py, PyAny>) -> PyResult<Bound<'py, PyAny>> {
        elementwise("value", values, |v, place| {
            Error::range(!v.is_nan(), place(), v, "", "a number")?;
            Ok(self.0.contains(v))
        })
    }

    /// The interval with its limits moved inwards by `guard_band`; outwards where it is negative.
    ///
    /// Parameters
    /// ----------
    /// guard_band
    ///     By how much each limit moves inwards.
    ///
    /// Returns
    /// -------
    /// Permissible
    ///     The interval.
    ///
    /// Raises
    /// ------
    /// RangeError
    ///     A guard band that is not finite or leaves nothing.
    ///
    /// Examples
    /// --------
    /// >>> from flowdoubt import conformity
    /// >>> limits = conformity.tolerance_interval(12.5, 16.3)
    /// >>> limits.guarded(0.3)
    /// <Permissible values from 12.8 to 16>
    fn guarded(&self, guard_band: f64) -> PyResult<Permissible> {
        Ok(Permissible(self.0.guarded(guard_band)?))
    }

    /// The conformance probability of one quantity.
    fn _of_quantity(&self, py: Python<'_>, quantity: Quantity<'_>) -> PyResult<f64> {
        let distribution = quantity.distribution()?;
        Ok(py.detach(|| self.0.probability(&distribution)))
    }

    /// The conformance probability for estimates, their standard uncertainties and degrees of
    /// freedom, all of shape `(n,)`.
    fn _of_columns<'py>(
        &self,
        py: Python<'py>,
        estimate: Argument<'py>,
        standard_uncertainty: Argument<'py>,
        dof: Argument<'py>,
    ) -> PyResult<Array<'py>> {
        let (y, u) = (estimate.as_array(), standard_uncertainty.as_array());
        let rows = y.iter().zip(u).zip(dof.as_array());
        let all = rows.map(|((y, u), dof)| {
            Error::range(y.is_finite(), "estimate", *y, "", "finite numbers")?;
            Ok(self.0.probability(&of_estimate(*y, *u, *dof)?))
        });
        let all = all.collect::<Result<Vec<f64>>>()?;
        Ok(all.to_pyarray(py))
    }

    /// The measurement capability index `C_m`.
    ///
    /// Parameters
    /// ----------
    /// standard_uncertainty
    ///     The standard uncertainty of the measurement, above 0.
    ///
    /// Returns
    /// -------
    /// float
    ///     The width of the interval over four standard uncertainties.
    ///
    /// Raises
    /// ------
    /// RangeError
    ///     A standard uncertainty that is not above 0.
    /// InputError
    ///     An interval with a single limit.
    ///
    /// Examples
    /// --------
    /// >>> from flowdoubt import conformity
    /// >>> limits = conformity.tolerance_interval(12.5, 16.3)
    /// >>> round(limits.capability_index(0.5), 3)
    /// 1.9
    fn capability_index(&self, standard_uncertainty: f64) -> PyResult<f64> {
        Ok(self.0.capability_index(standard_uncertainty)?)
    }

    fn __repr__(&self) -> String {
        format!("<Permissible values {}>", limits_in_words(&self.0))
    }
}

fn limits_in_words(interval: &core::Permissible) -> String {
    let (lower, upper) = (interval.lower(), interval.upper());
    match (lower.is_finite(), upper.is_finite()) {
        (true, true) => format!("from {lower} to {upper}"),
        (true, false) => format!("of {lower} and above"),
        _ => format!("of {upper} and below"),
    }
}

/// The risks of the decision on one measured item.
#[pyclass(frozen, module = "flowdoubt")]
pub(super) struct SpecificRisks(core::SpecificRisks);

#[pymethods]
impl SpecificRisks {
    /// The risks that go with a conformance probability.
    ///
    /// Parameters
    /// ----------
    /// conformance_probability
    ///     From 0 to 1.
    ///
    /// Returns
    /// -------
    /// SpecificRisks
    ///     The risks.
    ///
    /// Raises
    /// ------
    /// RangeError
    ///     A probability outside 0 to 1.
    #[staticmethod]
    fn of(conformance_probability: f64) -> PyResult<SpecificRisks> {
        let p = conformance_probability;
        let inside = (0.0..=1.0).contains(&p);
        Error::range(inside, "conformance_probability", p, "", "0 to 1")?;
        Ok(SpecificRisks(core::SpecificRisks::of(p)))
    }

    /// The probability that the item, if it is accepted, does not conform.
    #[getter]
    fn consumers_risk(&self) -> f64 {
        self.0.consumers_risk
    }

    /// The probability that the item, if it is rejected, conforms.
    #[getter]
    fn producers_risk(&self) -> f64 {
        self.0.producers_risk
    }

    fn __repr__(&self) -> String {
        format!(
            "<SpecificRisks: consumer's {} if the item is accepted, producer's {} if it is rejected>",
            uncertainty::rounded(self.0.consumers_risk, 4),
            uncertainty::rounded(self.0.producers_risk, 4)
        )
    }
}

/// Items whose true values follow a known distribution, and the measurement of them.
#[pyclass(frozen, module = "flowdoubt")]
pub(super) struct ItemsAndMeasurement {
    items: core::ItemsAndMeasurement,
    tolerance: core::Permissible,
}

#[pymethods]
impl ItemsAndMeasurement {
    #[new]
    fn new(
        prior: Quantity<'_>,
        measurement_uncertainty: f64,
        tolerance: &Bound<'_, Permissible>,
    ) -> PyResult<ItemsAndMeasurement> {
        let prior = prior.distribution()?;
        let u = measurement_uncertainty;
        let tolerance = tolerance.get().0;
        let items = core::ItemsAndMeasurement::new(prior, u, tolerance)?;
        Ok(ItemsAndMeasurement { items, tolerance })
    }

    /// The conformance probability of items whose measured values are ``measured``, of any shape
    /// (JCGM 106:2012, 6.2 and 9.3.2).
    ///
    /// Parameters
    /// ----------
    /// measured
    ///     Measured values, of any shape.
    ///
    /// Returns
    /// -------
    /// float or ndarray
    ///     Probabilities of the shape of `measured`.
    ///
    /// Raises
    /// ------
    /// RangeError
    ///     Measured values that are not finite, or that the prior distribution rules out.
    /// InputError
    ///     Masked elements, or text that is no number.
    ///
    /// Examples
    /// --------
    /// >>> import flowdoubt as fd
    /// >>> from flowdoubt import conformity
    /// >>> tolerance = conformity.tolerance_interval(1499.8, 1500.2)
    /// >>> items = conformity.items_and_measurement(fd.normal(1500.0, 0.12), 0.04, tolerance)
    /// >>> round(items.conformance_probability(1500.1), 3)
    /// 0.998
    fn conformance_probability<'py>(
        &self,
        measured: &Bound<'py, PyAny>,
    ) -> PyResult<Bound<'py, PyAny>> {
        elementwise("measured", measured, |y, place| {
            Error::range(y.is_finite(), place(), y, "", "finite numbers")?;
            self.items.conformity_given(y)
        })
    }

    /// The risks of the decision on one item whose measured value is ``measured``.
    ///
    /// Parameters
    /// ----------
    /// measured
    ///     The measured value.
    ///
    /// Returns
    /// -------
    /// SpecificRisks
    ///     The risks.
    ///
    /// Raises
    /// ------
    /// RangeError
    ///     A measured value that is not finite, or that the prior distribution rules out.
    ///
    /// Examples
    /// --------
    /// >>> import flowdoubt as fd
    /// >>> from flowdoubt import conformity
    /// >>> tolerance = conformity.tolerance_interval(1499.8, 1500.2)
    /// >>> items = conformity.items_and_measurement(fd.normal(1500.0, 0.12), 0.04, tolerance)
    /// >>> round(items.specific_risks(1500.1).producers_risk, 3)
    /// 0.998
    fn specific_risks(&self, py: Python<'_>, measured: f64) -> PyResult<SpecificRisks> {
        Error::range(
            measured.is_finite(),
            "measured",
            measured,
            "",
            "finite numbers",
        )?;
        let p = py.detach(|| self.items.conformity_given(measured))?;
        Ok(SpecificRisks(core::SpecificRisks::of(p)))
    }

    /// The risks over all items of accepting what is measured within ``acceptance``; within the
    /// tolerance interval if not given, which is simple acceptance (JCGM 106:2012, 8.2 and 9.5).
    ///
    /// Parameters
    /// ----------
    /// acceptance
    ///     The interval of permissible measured values; the tolerance interval if not given.
    ///
    /// Returns
    /// -------
    /// GlobalRisks
    ///     Risks of consumer and producer.
    ///
    /// Examples
    /// --------
    /// >>> import flowdoubt as fd
    /// >>> from flowdoubt import conformity
    /// >>> tolerance = conformity.tolerance_interval(1499.8, 1500.2)
    /// >>> items = conformity.items_and_measurement(fd.normal(1500.0, 0.12), 0.04, tolerance)
    /// >>> round(items.global_risks(tolerance).consumers_risk, 3)
    /// 0.019
    #[pyo3(signature = (acceptance = None))]
    fn global_risks(
        &self,
        py: Python<'_>,
        acceptance: Option<&Bound<'_, Permissible>>,
    ) -> GlobalRisks {
        let acceptance = acceptance.map_or(self.tolerance, |interval| interval.get().0);
        GlobalRisks(py.detach(|| self.items.global_risks(&acceptance)))
    }

    /// The guard band with which the global consumer's risk is ``consumers_risk``; negative where
    /// acceptance limits outside the tolerance interval would do (JCGM 106:2012, 9.5.4).
    ///
    /// Parameters
    /// ----------
    /// consumers_risk
    ///     The global risk of the consumer; what these items can have, an error says.
    ///
    /// Returns
    /// -------
    /// float
    ///     By how much each limit moves inwards.
    ///
    /// Raises
    /// ------
    /// RangeError
    ///     A risk that these items have with no guard band.
    ///
    /// Examples
    /// --------
    /// >>> import flowdoubt as fd
    /// >>> from flowdoubt import conformity
    /// >>> tolerance = conformity.tolerance_interval(1499.8, 1500.2)
    /// >>> items = conformity.items_and_measurement(fd.normal(1500.0, 0.12), 0.04, tolerance)
    /// >>> round(items.guard_band(0.001), 2)
    /// 0.07
    fn guard_band(&self, py: Python<'_>, consumers_risk: f64) -> PyResult<f64> {
        Ok(py.detach(|| self.items.guard_band_for(consumers_risk))?)
    }

    /// The permissible values.
    #[getter]
    fn tolerance(&self) -> Permissible {
        Permissible(self.tolerance)
    }

    /// The standard uncertainty of the measurement.
    #[getter]
    fn measurement_uncertainty(&self) -> f64 {
        self.items.measurement_uncertainty()
    }

    fn __repr__(&self) -> String {
        format!(
            "<ItemsAndMeasurement: prior {} about {}, measurement uncertainty {}, permissible {}>",
            self.items.prior().name(),
            self.items.prior().mean(),
            self.items.measurement_uncertainty(),
            limits_in_words(&self.tolerance)
        )
    }
}

/// The risks of a decision rule over all items (JCGM 106:2012, 9.5).
#[pyclass(frozen, module = "flowdoubt")]
pub(super) struct GlobalRisks(core::GlobalRisks);

#[pymethods]
impl GlobalRisks {
    /// The probability that an item conforms.
    #[getter]
    fn conforming(&self) -> f64 {
        self.0.conforming
    }

    /// The probability that an item is accepted.
    #[getter]
    fn accepted(&self) -> f64 {
        self.0.accepted
    }

    /// The probability that an item is accepted and does not conform.
    #[getter]
    fn consumers_risk(&self) -> f64 {
        self.0.consumers_risk
    }

    /// The probability that an item is rejected and conforms.
    #[getter]
    fn producers_risk(&self) -> f64 {
        self.0.producers_risk
    }

    fn __repr__(&self) -> String {
        format!(
            "<GlobalRisks: consumer's {}, producer's {}, accepted {:.4}, conforming {:.4}>",
            uncertainty::rounded(self.0.consumers_risk, 4),
            uncertainty::rounded(self.0.producers_risk, 4),
            self.0.accepted,
            self.0.conforming
        )
    }
}

const SIDES: [&str; 2] = ["lower", "upper"];
const RULES: [&str; 2] = ["guarded_acceptance", "guarded_rejection"];

/// The acceptance limit at which a decision is right with the stated probability; the standard
/// uncertainty is a share of the measured value where `relative` holds.
#[pyfunction]
fn acceptance_limit(
    tolerance_limit: f64,
    side: &str,
    rule: &str,
    standard_uncertainty: f64,
    relative: bool,
    dof: f64,
    probability: f64,
) -> PyResult<f64> {
    let side = match side {
        "lower" => LimitSide::Lower,
        "upper" => LimitSide::Upper,
        _ => return Err(Error::unknown_name("side", side, &SIDES).into()),
    };
    let rule = match rule {
        "guarded_acceptance" => DecisionRule::GuardedAcceptance,
        "guarded_rejection" => DecisionRule::GuardedRejection,
        _ => return Err(Error::unknown_name("rule", rule, &RULES).into()),
    };
    let uncertainty = if relative {
        StandardUncertainty::Relative(standard_uncertainty)
    } else {
        StandardUncertainty::Absolute(standard_uncertainty)
    };
    let limit = core::decision_limit(tolerance_limit, side, rule, uncertainty, dof, probability)?;
    Ok(limit)
}
