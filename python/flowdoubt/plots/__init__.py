"""Figures for print. Each function draws on the axes given, or on new ones, and returns them.

Grey and hatching carry the meaning, so that a figure survives a black-and-white printer.
Matplotlib is imported when a figure is asked for.
"""

from __future__ import annotations

import sys

from flowdoubt.edge.guard import guard
from flowdoubt.plots.installation import (
    disturbed_profile,
    error_against_orientation,
    error_against_straight_run,
)
from flowdoubt.plots.path import profile_factor, profile_path, sound_path
from flowdoubt.plots.plan import uncertainty_against_flow
from flowdoubt.plots.profile import profile_laws, profile_roughness
from flowdoubt.plots.result import contributions, distribution
from flowdoubt.plots.saving import save
from flowdoubt.plots.series import period_totals, series
from flowdoubt.plots.verification import verification

__all__ = [
    "contributions",
    "distribution",
    "disturbed_profile",
    "error_against_orientation",
    "error_against_straight_run",
    "period_totals",
    "profile_factor",
    "profile_laws",
    "profile_path",
    "profile_roughness",
    "save",
    "series",
    "sound_path",
    "uncertainty_against_flow",
    "verification",
]

guard(sys.modules[__name__])
