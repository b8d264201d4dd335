"""Budgets as data frames; the libraries are imported when asked for."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import pandas as pd
    import polars as pl

    from flowdoubt._flowdoubt import Budget, Plan, Sensitivity, Target


def budget_to_pandas(budget: Budget) -> pd.DataFrame:
    """Return the lines of a budget, indexed by component and input."""
    import pandas as pd

    return pd.DataFrame(budget.columns()).set_index(["component", "input"])


def budget_to_polars(budget: Budget) -> pl.DataFrame:
    """Return the lines of a budget."""
    import polars as pl

    return pl.DataFrame(budget.columns())


def indices_to_pandas(sensitivity: Sensitivity) -> pd.DataFrame:
    """Return Sobol indices with their confidence limits, indexed by input."""
    import pandas as pd

    return pd.DataFrame(sensitivity.columns()).set_index("input")


def plan_to_pandas(plan: Plan, si: bool = False) -> pd.DataFrame:
    """Return the points of a plan, flows in the unit of the site or in m3/s."""
    import pandas as pd

    return pd.DataFrame(plan.rows(si))


def plan_to_polars(plan: Plan, si: bool = False) -> pl.DataFrame:
    """Return the points of a plan, flows in the unit of the site or in m3/s."""
    import polars as pl

    return pl.DataFrame(plan.rows(si), infer_schema_length=None)


def target_to_pandas(target: Target) -> pd.DataFrame:
    """Return what is asked of each input, indexed by input."""
    import pandas as pd

    return pd.DataFrame(target.improvements).set_index("input")


def target_to_polars(target: Target) -> pl.DataFrame:
    """Return what is asked of each input."""
    import polars as pl

    return pl.DataFrame(target.improvements, infer_schema_length=None)
