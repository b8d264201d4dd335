"""Planning: what `Site.plan` and `Evaluation.target` take, brought into the form of the core."""

from __future__ import annotations

import datetime
import itertools
import os
from collections.abc import Iterable, Mapping, Sequence
from typing import TYPE_CHECKING, Any, Literal, TypeAlias

import numpy as np

from flowdoubt import _core
from flowdoubt.display.plan import comparison_html, plan_html, target_html
from flowdoubt.edge.errors import refuse
from flowdoubt.site.kit import checked_inventory, day_on_site
from flowdoubt.site.readings import amount, is_quantity, magnitude, readings_of

if TYPE_CHECKING:
    import pandas as pd
    import polars as pl

# text with a unit, or a pint quantity
Amount: TypeAlias = "str | Any"
Amounts: TypeAlias = "Amount | Sequence[Amount]"
Scatter: TypeAlias = "Mapping[str, str | Sequence[str]] | str | os.PathLike[str] | Any"
Basis: TypeAlias = Literal["timed", "geometric"]


class Plan(_core.Plan):
    """The uncertainty to expect, point by point: what `Site.plan` returns.

    Points are counted from 0, by alternative, then by temperature, then by flow. `to_pandas` and
    `to_polars` have one row a point; ``print`` and notebooks show a table.
    """

    def to_pandas(self, si: bool = False) -> pd.DataFrame:
        """Return the points as a data frame.

        Parameters
        ----------
        si
            Flows in m3/s, and not in the unit of the site.

        Returns
        -------
        pandas.DataFrame

        Raises
        ------
        ModuleNotFoundError
            Without the package pandas.

        Examples
        --------
        >>> import flowdoubt as fd
        >>> site = fd.Site.load("notebooks/demo/site.toml")
        >>> plan = site.plan(["500 m3/h", "1000 m3/h"], "8 degC", target="3 %")
        >>> len(plan.to_pandas())
        2
        """
        import pandas as pd

        return pd.DataFrame(self.rows(si))

    def to_polars(self, si: bool = False) -> pl.DataFrame:
        """Return the points as a data frame.

        Parameters
        ----------
        si
            Flows in m3/s, and not in the unit of the site.

        Returns
        -------
        polars.DataFrame

        Raises
        ------
        ModuleNotFoundError
            Without the package polars.

        Examples
        --------
        >>> import flowdoubt as fd
        >>> site = fd.Site.load("notebooks/demo/site.toml")
        >>> plan = site.plan(["500 m3/h", "1000 m3/h"], "8 degC", target="3 %")
        >>> plan.to_polars().height
        2
        """
        import polars as pl

        return pl.DataFrame(self.rows(si), infer_schema_length=None)

    def _repr_html_(self) -> str:
        return plan_html(self)


class PlanComparison(_core.PlanComparison):
    """The alternatives of a plan side by side: what ``plan.comparison`` is.

    One row an alternative, by rank: the largest and the typical expanded uncertainty over the
    points of the plan, effort, spacing and whether it fits. `to_pandas` and `to_polars` have these
    rows; ``remarks`` has each warning once.
    """

    def to_pandas(self, si: bool = False) -> pd.DataFrame:
        """Return the alternatives by rank as a data frame, indexed by alternative.

        Parameters
        ----------
        si
            Flows in m3/s, and not in the unit of the site.

        Returns
        -------
        pandas.DataFrame
            A row for each alternative.

        Raises
        ------
        ModuleNotFoundError
            Without the package pandas.

        Examples
        --------
        >>> import flowdoubt as fd
        >>> site = fd.Site.load("notebooks/demo/site.toml")
        >>> plan = site.plan("1000 m3/h", "8 degC", traverses=[1, 2])
        >>> comparison = plan.comparison
        >>> len(comparison.to_pandas())
        2
        """
        import pandas as pd

        return pd.DataFrame(self.rows(si)).set_index("alternative")

    def to_polars(self, si: bool = False) -> pl.DataFrame:
        """Return the alternatives by rank as a data frame.

        Parameters
        ----------
        si
            Flows in m3/s, and not in the unit of the site.

        Returns
        -------
        polars.DataFrame
            A row for each alternative.

        Raises
        ------
        ModuleNotFoundError
            Without the package polars.

        Examples
        --------
        >>> import flowdoubt as fd
        >>> site = fd.Site.load("notebooks/demo/site.toml")
        >>> plan = site.plan("1000 m3/h", "8 degC", traverses=[1, 2])
        >>> comparison = plan.comparison
        >>> comparison.to_polars().height
        2
        """
        import polars as pl

        return pl.DataFrame(self.rows(si), infer_schema_length=None)

    def _repr_html_(self) -> str:
        return comparison_html(self)


class Target(_core.Target):
    """The way to a wanted expanded uncertainty; true if it can be reached.

    `wanted` and `estimate` are in `unit`, `expanded` is what is expected without improvement,
    `lowest` what is left with every input at its lowest. `improvements` has for each input the
    fraction of its standard uncertainty that would do alone, and the one in the solution of least
    effort; `improved` and `budget` belong to that solution, `effort` is its price.
    """

    def to_pandas(self) -> pd.DataFrame:
        """Return what is asked of each input as a data frame, indexed by input.

        Returns
        -------
        pandas.DataFrame
            A row for each input.

        Raises
        ------
        ModuleNotFoundError
            Without the package pandas.

        Examples
        --------
        >>> import flowdoubt as fd
        >>> site = fd.Site.load("notebooks/demo/site.toml")
        >>> evaluation = site.evaluate("notebooks/demo/readings.csv")
        >>> target = evaluation.target("2 %")
        >>> len(target.to_pandas()) > 0
        True
        """
        import pandas as pd

        return pd.DataFrame(self.improvements).set_index("input")

    def to_polars(self) -> pl.DataFrame:
        """Return what is asked of each input as a data frame.

        Returns
        -------
        polars.DataFrame
            A row for each input.

        Raises
        ------
        ModuleNotFoundError
            Without the package polars.

        Examples
        --------
        >>> import flowdoubt as fd
        >>> site = fd.Site.load("notebooks/demo/site.toml")
        >>> evaluation = site.evaluate("notebooks/demo/readings.csv")
        >>> target = evaluation.target("2 %")
        >>> target.to_polars().height > 0
        True
        """
        import polars as pl

        return pl.DataFrame(self.improvements, infer_schema_length=None)

    def _repr_html_(self) -> str:
        return target_html(self)


def _amounts(values: Any) -> list[Any]:
    """Return one amount or many as a list of texts and numbers."""
    if values is None:
        return []
    if isinstance(values, str) or not isinstance(values, Iterable):
        return [values]
    return list(values)


def _checked(name: str, values: Any, example: str, unit: str) -> list[str | float]:
    checked: list[str | float] = []
    if is_quantity(values):
        # one amount or an array of them
        numbers = magnitude(name, values, unit)
        return [float(number) for number in (numbers if np.ndim(numbers) else [numbers])]
    for i, value in enumerate(_amounts(values)):
        checked.append(amount(f"{name}[{i}]", value, unit, example))
    return checked


def temperatures_of(temperatures: Any) -> list[str | float]:
    """Return temperatures as texts, or in kelvin where they know their unit."""
    return _checked("temperatures", temperatures, "15 degC", "K")


def _whole(name: str, values: Any) -> list[int | None]:
    chosen = _amounts(values)
    for value in chosen:
        if isinstance(value, bool) or not hasattr(value, "__index__"):
            raise refuse(
                f"{name}: found {value!r}; allowed: whole numbers",
                code="wrong-type",
                field=name,
                value=value,
                allowed="whole numbers",
            )
        if not 0 <= int(value) < 2**32:
            raise refuse(
                f"{name}: found {value}; allowed: 1 or above",
                code="out-of-range",
                field=name,
                value=value,
                allowed="1 or above",
                kind=_core.RangeError,
            )
    return [int(value) for value in chosen] or [None]


def _texts(name: str, values: Any) -> list[str | None]:
    chosen = _amounts(values)
    for value in chosen:
        if not isinstance(value, str):
            raise refuse(
                f"{name}: found {value!r}; allowed: text",
                code="wrong-type",
                field=name,
                value=value,
                allowed="text",
            )
    return list(chosen) or [None]


def _scatter(scatter: Any) -> tuple[list[tuple[str, list[str]]], Any]:
    """Tell scatter that is stated, text by channel, from readings that show it."""
    if scatter is None:
        return [], None
    if isinstance(scatter, Mapping):
        stated = {name: _amounts(texts) for name, texts in scatter.items()}
        if all(isinstance(text, str) for texts in stated.values() for text in texts):
            return list(stated.items()), None
    return [], readings_of(scatter)


def _request(
    costs: Mapping[str, float] | None, lowest: Mapping[str, str] | None
) -> tuple[list[tuple[str, float]] | None, list[tuple[str, str]]]:
    for name, text in (lowest or {}).items():
        if not isinstance(text, str):
            raise refuse(
                f"lowest.{name}: found {text!r}; allowed: a standard uncertainty as text with a "
                "unit",
                code="wrong-type",
                field=f"lowest.{name}",
                value=text,
                allowed="a standard uncertainty as text with a unit",
            )
    prices = None if costs is None else _numbers("costs", costs, "above 0")
    return prices, list((lowest or {}).items())


def _numbers(
    argument: str, by_name: Mapping[str, float] | None, allowed: str
) -> list[tuple[str, float]]:
    """Return numbers by name as pairs."""
    pairs = []
    for name, number in (by_name or {}).items():
        try:
            pairs.append((name, float(number)))
        except (TypeError, ValueError):
            raise refuse(
                f"{argument}.{name}: found {number!r}; allowed: a number {allowed}",
                code="wrong-type",
                field=f"{argument}.{name}",
                value=number,
                allowed=f"a number {allowed}",
            ) from None
    return pairs


def _length(name: str, value: Any) -> str | float:
    length: str | float = amount(name, value, "m", "1.2 m")
    return length


def _rail(rail: Any) -> list[str | float]:
    """Return the smallest and the largest spacing of a rail or frame."""
    allowed = "the smallest and the largest spacing, such as ('50 mm', '400 mm')"
    if is_quantity(rail) and np.shape(rail) == (2,):
        return _checked("rail", rail, "400 mm", "m")
    if isinstance(rail, str) or not isinstance(rail, Sequence) or len(rail) != 2:
        raise refuse(
            f"rail: found {rail!r}; allowed: {allowed}",
            code="wrong-type",
            field="rail",
            value=rail,
            allowed=allowed,
        )
    return [_length(f"rail[{i}]", spacing) for i, spacing in enumerate(rail)]


def site_plan(
    site: _core.Site,
    flows: Any,
    temperatures: Any,
    *,
    traverses: Any,
    bases: Any,
    straight_runs: Any,
    orientations: Any,
    planes: Any,
    scatter: Any,
    readings: int | None,
    target: Amount | None,
    costs: Mapping[str, float] | None,
    lowest: Mapping[str, str] | None,
    free_length: Amount | None,
    rail: tuple[Amount, Amount] | None,
    efforts: Mapping[str, float] | None,
    instruments: _core.Inventory | None,
    cable_run: Amount | None,
    duration: Amount | None,
    date: str | datetime.date | None,
) -> Plan:
    """Make the plan of a site, for every combination of what is to be compared."""
    alternatives = list(
        itertools.product(
            _whole("traverses", traverses),
            _texts("bases", bases),
            _texts("straight_runs", straight_runs),
            _texts("orientations", orientations),
            _whole("planes", planes),
        )
    )
    stated, trial_run = _scatter(scatter)
    count = None if readings is None else _whole("readings", readings)[0]
    plan = _core.plan_site(
        site,
        _checked("flows", flows, "100 m3/h", "m^3/s"),
        temperatures_of(temperatures),
        alternatives,
        stated,
        trial_run,
        count,
        (
            None if target is None else _wanted(target),
            None if free_length is None else _length("free_length", free_length),
            None if rail is None else _rail(rail),
            _numbers("efforts", efforts, "0 or above"),
        ),
        _owned(instruments, cable_run, duration, date),
    )
    if target is None:
        if costs is not None or lowest is not None:
            raise refuse(
                "target: missing; needed: the expanded uncertainty that costs and lowest are for",
                code="missing",
                field="target",
                allowed="an expanded uncertainty such as '1 %'",
            )
        return plan
    return plan._towards(*wanted_and_request(target, costs, lowest))


def _owned(
    instruments: _core.Inventory | None,
    cable_run: Amount | None,
    duration: Amount | None,
    date: str | datetime.date | None,
) -> tuple[_core.Inventory, tuple[Any, Any, Any, str]] | None:
    """Return the instruments to be tried, with the day on site."""
    if instruments is not None:
        return checked_inventory("instruments", instruments), day_on_site(
            cable_run=cable_run, duration=duration, date=date
        )
    for name, value in (("cable_run", cable_run), ("duration", duration), ("date", date)):
        if value is not None:
            raise refuse(
                f"{name}: found {value!r} without instruments, so that it would have no effect; "
                f"allowed: {name} with instruments",
                code="conflict",
                field=name,
                value=value,
                allowed=f"{name} with instruments",
            )
    return None


def wanted_and_request(
    target: Amount, costs: Mapping[str, float] | None, lowest: Mapping[str, str] | None
) -> tuple[str | float, list[tuple[str, float]] | None, list[tuple[str, str]]]:
    """Return the wanted expanded uncertainty, prices and lowest uncertainties for the core."""
    return (_wanted(target), *_request(costs, lowest))


def _wanted(target: Amount) -> str | float:
    return _checked("target", target, "1 %", "")[0]
