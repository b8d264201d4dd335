"""Any measurement model written as an ordinary Python function.

The function takes a mapping of input names to values and returns the measurand, or a mapping of
names to several measurands. It is called with dual numbers for the sensitivity coefficients and
with arrays for Monte Carlo, so it is written with arithmetic and numpy functions.
"""

from flowdoubt.models.budget import Budget
from flowdoubt.models.monte_carlo import (
    adaptive_monte_carlo,
    low_discrepancy,
    monte_carlo,
    sobol_indices,
)
from flowdoubt.models.propagation import propagate, second_order
from flowdoubt.models.results import AdaptiveTrials, Estimate, Estimates, JointTrials, TalliedJoint
from flowdoubt.models.trials import Sensitivity, Trials

__all__ = [
    "AdaptiveTrials",
    "Budget",
    "Estimate",
    "Estimates",
    "JointTrials",
    "Sensitivity",
    "TalliedJoint",
    "Trials",
    "adaptive_monte_carlo",
    "low_discrepancy",
    "monte_carlo",
    "propagate",
    "second_order",
    "sobol_indices",
]
