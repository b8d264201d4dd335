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

from flowdoubt import acoustics, profile, water
from flowdoubt._flowdoubt import (
    CAUTIONS,
    Budget,
    CorrelationError,
    Evaluation,
    Expanded,
    FlowdoubtError,
    InputError,
    RangeError,
    Trials,
    TrialsError,
    UnitError,
    Validation,
    __version__,
)
from flowdoubt._site import Site

__all__ = [
    "CAUTIONS",
    "Budget",
    "CorrelationError",
    "Evaluation",
    "Expanded",
    "FlowdoubtError",
    "InputError",
    "RangeError",
    "Site",
    "Trials",
    "TrialsError",
    "UnitError",
    "Validation",
    "__version__",
    "acoustics",
    "profile",
    "water",
]
