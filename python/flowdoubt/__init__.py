"""Volume flow of a clamp-on transit-time meter, with its uncertainty.

A site file describes pipe, liquid, sound path, meter and installation, each with its doubt and
its evidence; readings of the meter give the volume flow, an uncertainty budget after the GUM
(JCGM 100) and its confirmation by Monte Carlo (JCGM 101).

Examples
--------
>>> import flowdoubt as fd
>>> site = fd.Site.load("notebooks/demo/site.toml")
>>> evaluation = site.evaluate("notebooks/demo/readings.csv")
>>> print(evaluation.budget.result_in_words)
volume flow: 1056 m3/h, combined standard uncertainty 10 m3/h, effective degrees of freedom 457.3

All numbers are in SI units unless a unit is given as text. A result is no evidence for custody
transfer or for a safety function without review by licensed practice.
"""

from flowdoubt import (
    acoustics,
    conformity,
    inputs,
    installation,
    models,
    profile,
    regression,
    statistics,
    water,
)
from flowdoubt._flowdoubt import (
    CAUTIONS,
    AdaptiveRun,
    Budget,
    CorrelationError,
    EllipsoidalRegion,
    Evaluation,
    Expanded,
    FlowdoubtError,
    InputError,
    ModelError,
    RangeError,
    RectangularRegion,
    SecondOrder,
    Sensitivity,
    Trials,
    TrialsError,
    UnitError,
    Validation,
    __version__,
)
from flowdoubt._site import Site
from flowdoubt.inputs import (
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
from flowdoubt.models import (
    AdaptiveTrials,
    Estimate,
    Estimates,
    JointTrials,
    adaptive_monte_carlo,
    monte_carlo,
    propagate,
    second_order,
    sobol_indices,
)

__all__ = [
    "CAUTIONS",
    "AdaptiveRun",
    "AdaptiveTrials",
    "Budget",
    "CorrelationError",
    "EllipsoidalRegion",
    "Estimate",
    "Estimates",
    "Evaluation",
    "Expanded",
    "FlowdoubtError",
    "Input",
    "InputError",
    "InputSet",
    "JointTrials",
    "ModelError",
    "RangeError",
    "RectangularRegion",
    "SecondOrder",
    "Sensitivity",
    "Site",
    "Trials",
    "TrialsError",
    "UnitError",
    "Validation",
    "__version__",
    "acoustics",
    "adaptive_monte_carlo",
    "arcsine",
    "beta",
    "certificate",
    "conformity",
    "curvilinear_trapezoid",
    "density_table",
    "exact",
    "exponential",
    "gamma",
    "half_width",
    "input_set",
    "inputs",
    "installation",
    "joint_readings",
    "lognormal",
    "models",
    "monte_carlo",
    "multivariate_normal",
    "normal",
    "probability_table",
    "profile",
    "propagate",
    "readings",
    "rectangular",
    "regression",
    "sample",
    "second_order",
    "sobol_indices",
    "statistics",
    "student_t",
    "trapezoidal",
    "triangular",
    "truncated_normal",
    "water",
]
