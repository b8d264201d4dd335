"""Volume flow of a clamp-on transit-time meter, with its uncertainty.

A site file describes pipe, liquid, sound path, meter and installation, each with its uncertainty
and its evidence; readings of the meter give the volume flow, an uncertainty budget after the GUM
(JCGM 100) and its confirmation by Monte Carlo (JCGM 101).

Examples
--------
>>> import flowdoubt as fd
>>> site = fd.Site.load("notebooks/demo/site.toml")
>>> evaluation = site.evaluate("notebooks/demo/readings.csv")
>>> print(evaluation.budget.result_in_words)
volume flow: 1044 m3/h, combined standard uncertainty 15 m3/h, effective degrees of freedom 2077

One rule for units: the number of a result stands beside its unit, in that unit
(``evaluation.estimate`` with ``evaluation.unit``), or its name ends in its unit (``spacing_m``);
what has no unit is a ratio, a count or a probability. ``flow_unit`` of the site is the unit of its
flows; ``evaluation.value("L/s")``, ``value("SI")`` and ``to_pint()`` give others. What a site file
or an argument states is text with a unit (``"120 m3/h"``) or a pint quantity: a plain number is
refused. The functions of physics (`water`, `profile`, `acoustics`, `pipe`) take and return SI units
throughout.

A result is no evidence for custody transfer or for a safety function without review by licensed
practice.
"""

from importlib import import_module as _import_module
from types import ModuleType as _ModuleType
from typing import TYPE_CHECKING as _TYPE_CHECKING

from flowdoubt import (
    _core,
    acoustics,
    conformity,
    glycol,
    installation,
    models,
    pipe,
    profile,
    regression,
    seawater,
    statistics,
    verification,
    water,
)
from flowdoubt._core import (
    CAUTIONS,
    AdaptiveRun,
    CorrelationError,
    EllipsoidalRegion,
    Expanded,
    FlowdoubtError,
    InputError,
    InterchangedZero,
    LowDiscrepancyRun,
    ModelError,
    RangeError,
    Reconciliation,
    RecordError,
    RectangularRegion,
    SecondOrder,
    SoundSpeedCheck,
    StressTest,
    TakenOver,
    TalliedTrials,
    TrialsError,
    UnitError,
    Validation,
    VerificationTrials,
    Worksheet,
    ZeroCheck,
    __version__,
)
from flowdoubt.display.facts import give_displays as _give_displays
from flowdoubt.display.notebook_errors import install as _install
from flowdoubt.edge.guard import guard as _guard
from flowdoubt.exports import export
from flowdoubt.forms import Form, form
from flowdoubt.models import (
    AdaptiveTrials,
    Budget,
    Estimate,
    Estimates,
    JointTrials,
    Sensitivity,
    TalliedJoint,
    Trials,
    adaptive_monte_carlo,
    inputs,
    low_discrepancy,
    monte_carlo,
    propagate,
    second_order,
    sobol_indices,
)
from flowdoubt.models.inputs import (
    Input,
    InputSet,
    arcsine,
    beta,
    certificate,
    curvilinear_trapezoid,
    density_table,
    exact,
    exponential,
    gamma,
    half_width,
    input_set,
    joint_readings,
    lognormal,
    multivariate_normal,
    normal,
    probability_table,
    readings,
    rectangular,
    sample,
    student_t,
    trapezoidal,
    triangular,
    truncated_normal,
)
from flowdoubt.reports import Report, head_starter, report
from flowdoubt.site import (
    Commissioned,
    Commissioning,
    Difference,
    Evaluation,
    Inventory,
    KitList,
    MarkOut,
    Plan,
    PlanComparison,
    Record,
    Reproduction,
    Series,
    Site,
    SiteTable,
    Target,
    Verification,
    VerificationResult,
    difference,
    evaluate_sites,
    reproduce,
)

if _TYPE_CHECKING:
    from flowdoubt import plots

__all__ = [
    "CAUTIONS",
    "AdaptiveRun",
    "AdaptiveTrials",
    "Budget",
    "Commissioned",
    "Commissioning",
    "CorrelationError",
    "Difference",
    "EllipsoidalRegion",
    "Estimate",
    "Estimates",
    "Evaluation",
    "Expanded",
    "FlowdoubtError",
    "Form",
    "Input",
    "InputError",
    "InputSet",
    "InterchangedZero",
    "Inventory",
    "JointTrials",
    "KitList",
    "LowDiscrepancyRun",
    "MarkOut",
    "ModelError",
    "Plan",
    "PlanComparison",
    "RangeError",
    "Reconciliation",
    "Record",
    "RecordError",
    "RectangularRegion",
    "Report",
    "Reproduction",
    "SecondOrder",
    "Sensitivity",
    "Series",
    "Site",
    "SiteTable",
    "SoundSpeedCheck",
    "StressTest",
    "TakenOver",
    "TalliedJoint",
    "TalliedTrials",
    "Target",
    "Trials",
    "TrialsError",
    "UnitError",
    "Validation",
    "Verification",
    "VerificationResult",
    "VerificationTrials",
    "Worksheet",
    "ZeroCheck",
    "__version__",
    "acoustics",
    "adaptive_monte_carlo",
    "arcsine",
    "beta",
    "certificate",
    "conformity",
    "curvilinear_trapezoid",
    "density_table",
    "difference",
    "evaluate_sites",
    "exact",
    "exponential",
    "export",
    "form",
    "gamma",
    "glycol",
    "half_width",
    "head_starter",
    "input_set",
    "inputs",
    "installation",
    "joint_readings",
    "lognormal",
    "low_discrepancy",
    "models",
    "monte_carlo",
    "multivariate_normal",
    "normal",
    "pipe",
    "plots",
    "probability_table",
    "profile",
    "propagate",
    "readings",
    "rectangular",
    "regression",
    "report",
    "reproduce",
    "sample",
    "seawater",
    "second_order",
    "sobol_indices",
    "statistics",
    "student_t",
    "trapezoidal",
    "triangular",
    "truncated_normal",
    "verification",
    "water",
]

# the classes of users, each of which inherits from one of the core
_core.use_classes(
    [
        Budget,
        Commissioned,
        Commissioning,
        Difference,
        Evaluation,
        Inventory,
        KitList,
        MarkOut,
        Plan,
        PlanComparison,
        Record,
        Reproduction,
        Sensitivity,
        Series,
        Site,
        Target,
        Trials,
        Verification,
        VerificationResult,
        regression.StraightLine,
    ]
)
_install()


def __getattr__(name: str) -> _ModuleType:
    # figures are imported when they are asked for: matplotlib takes longer than all else
    if name == "plots":
        return _import_module("flowdoubt.plots")
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")


_topics = [own for name in __all__ if isinstance(own := globals().get(name), _ModuleType)]
for _module in (*_topics, _import_module(__name__)):
    _guard(_module)
for _module in (_core, *_topics, _import_module("flowdoubt.models.results")):
    _give_displays(vars(_module).values())
