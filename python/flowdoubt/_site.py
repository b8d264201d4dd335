"""The site as Python sees it."""

from __future__ import annotations

import os
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any, TypeAlias

import numpy as np
from numpy.typing import ArrayLike

from flowdoubt import _flowdoubt
from flowdoubt._flowdoubt import (
    Evaluation,
    SoundSpeedCheck,
    Verification,
    VerificationResult,
)
from flowdoubt._mark_out import MarkOut

if TYPE_CHECKING:
    import pandas as pd
    import polars as pl

    Readings: TypeAlias = (
        str | os.PathLike[str] | Mapping[str, ArrayLike] | pd.DataFrame | pl.DataFrame
    )

# Columns of words, which the evaluation keeps out.
_NOT_NUMBERS = ("time", "remark")


class Site:
    """A site as described by its file: pipe, liquid, sound path, meter and installation.

    Make one with `Site.load` or `Site.from_toml`.
    """

    STARTER = _flowdoubt.Site.STARTER
    """The text of a site file to begin with: usual keys, comments, values to be replaced."""

    def __init__(self, core: _flowdoubt.Site) -> None:
        self._core = core

    @classmethod
    def load(cls, path: str | os.PathLike[str]) -> Site:
        """Read a site file.

        Raises
        ------
        FlowdoubtError
            Anything wrong in the file, with file, line, what was found and what is allowed.

        Examples
        --------
        >>> Site.load("notebooks/demo/site.toml").name
        'Harrowmere district cooling, plant 2, supply main'
        """
        return cls(_flowdoubt.Site.load(path))

    @classmethod
    def from_toml(cls, text: str) -> Site:
        """Read a site from the text of a site file."""
        return cls(_flowdoubt.Site.from_toml(text))

    @property
    def name(self) -> str:
        """The name of the site."""
        return self._core.name

    @property
    def note(self) -> str:
        """Remarks in words."""
        return self._core.note

    @property
    def coverage_probability(self) -> float:
        """The coverage probability at which expanded uncertainties are stated."""
        return self._core.coverage_probability

    def evaluate(self, readings: Readings) -> Evaluation:
        """Evaluate readings to a volume flow with its uncertainty budget.

        Parameters
        ----------
        readings
            The path of a CSV file, or columns by name: a mapping, a pandas or a polars data
            frame. The unit is part of the name, as in ``transit_time_us``,
            ``time_difference_ns``, ``temperature_degC``, ``volume_flow_m3_h``.

        Raises
        ------
        FlowdoubtError
            A column that is missing, unknown or not of numbers; estimates outside the model.
        """
        return self._core.evaluate(readings)

    def check_sound_speed(self, readings: Readings) -> SoundSpeedCheck:
        """Compare the measured sound speed of the liquid with the one expected from its state.

        Parameters
        ----------
        readings
            As for `evaluate`, with a transit time.

        Raises
        ------
        FlowdoubtError
            As for `evaluate`; no transit time, or a sound path that is not known.
        """
        return self.evaluate(readings).sound_speed_check()

    def verify(self, verification: Verification | str | os.PathLike[str]) -> VerificationResult:
        """Compare the meter with a reference, run by run and flow point by flow point.

        Parameters
        ----------
        verification
            The path of a verification file, or what was read from one.

        Returns
        -------
        VerificationResult
            ``runs`` and ``points`` (lists of dictionaries, in SI units, errors as ratios; a data
            frame takes them as they are), ``error_covariance``, ``line``, ``accepted``,
            ``headline``, ``monte_carlo(...)``.

        Raises
        ------
        FlowdoubtError
            Anything wrong in the file or its readings, with file and line; a reference that does
            not fit the liquid of the site; estimates that no run can have.

        Examples
        --------
        >>> site = Site.load("notebooks/demo/site.toml")
        >>> result = site.verify("notebooks/demo/verification.toml")
        >>> [round(100 * point["error"], 2) for point in result.points]
        [-0.63, -0.4, -0.49]
        """
        if not isinstance(verification, Verification):
            verification = Verification.load(verification)
        return _flowdoubt.verify(self._core, verification)

    def mark_out(
        self,
        *,
        temperature: float | str | None = None,
        temperature_standard_uncertainty: float | str = 0.0,
        velocity: float | str = 1.0,
    ) -> MarkOut:
        """Tell where the sensors go on the pipe, and what it costs to miss the place.

        No readings are needed.

        Parameters
        ----------
        temperature
            Temperature of the liquid in operation in K, or as text such as ``"8 degC"``, where the
            site file leaves it to the readings.
        temperature_standard_uncertainty
            Its standard uncertainty in K or as text, besides that of the thermometer in the site
            file.
        velocity
            Mean velocity on the path in m/s, or as text, at which the cost of a placement error is
            computed. It matters little.

        Returns
        -------
        MarkOut
            Axial spacing, circumference and half circumference with their standard uncertainties,
            tolerances, warnings; ``flow_change(...)``, ``sheet("sheet.pdf")``, ``svg()``.

        Raises
        ------
        InputError
            Something that the sound path rests on and the site does not state; a temperature that
            is missing, stated already or of no effect.
        UnitError
            Text that is no temperature or velocity.
        RangeError
            No sound path, a pipe without bore, a liquid outside its formulation.

        Examples
        --------
        >>> site = Site.load("notebooks/demo/site.toml")
        >>> mark_out = site.mark_out(temperature="8 degC")
        >>> round(1e3 * mark_out.spacing_m, 1), mark_out.direct
        (345.1, False)
        """
        core = _flowdoubt.mark_out(
            self._core, temperature, temperature_standard_uncertainty, velocity
        )
        return MarkOut._of(core)

    def __repr__(self) -> str:
        return repr(self._core)

    def _repr_html_(self) -> str:
        from flowdoubt._display import site_html

        return site_html(self)


def columns_of(table: Any) -> dict[str, np.ndarray[tuple[int], np.dtype[np.float64]]]:
    """Turn a mapping or a data frame into arrays of one dimension by name."""
    names = list(table.keys()) if isinstance(table, Mapping) else list(table.columns)
    columns = {}
    for name in names:
        if name in _NOT_NUMBERS:
            continue
        try:
            values = np.asarray(table[name], dtype=np.float64)
        except (TypeError, ValueError) as error:
            raise _flowdoubt.InputError(f"{name}: not a column of numbers ({error})") from None
        if values.ndim != 1:
            raise _flowdoubt.InputError(f"{name}: found shape {values.shape}; allowed: (n,)")
        columns[str(name)] = np.ascontiguousarray(values)
    return columns
