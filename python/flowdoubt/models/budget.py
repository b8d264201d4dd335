"""Budgets: as data frames, as quantities of pint, and shown in notebooks."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from flowdoubt import _core
from flowdoubt.display.budget import budget_html, budget_latex
from flowdoubt.edge.quantities import result_of

if TYPE_CHECKING:
    import pandas as pd
    import polars as pl


class Budget(_core.Budget):
    """An uncertainty budget (JCGM 100:2008, clause 7), one line for each input."""

    def to_pint(self, registry: Any = None) -> tuple[Any, Any]:
        """Return estimate and standard uncertainty as pint quantities.

        Parameters
        ----------
        registry
            The registry that they belong to, ``pint.application_registry`` if not given.

        Returns
        -------
        tuple
            Estimate and standard uncertainty, in the unit of the budget.

        Raises
        ------
        ModuleNotFoundError
            Without the package pint, where no registry is given.
        InputError
            A unit that the registry does not know.

        Examples
        --------
        >>> import flowdoubt as fd
        >>> site = fd.Site.load("notebooks/demo/site.toml")
        >>> evaluation = site.evaluate("notebooks/demo/readings.csv")
        >>> budget = evaluation.budget
        >>> flow, u = budget.to_pint()
        >>> f"{flow:.0f~P}"
        '1044 m³/h'
        """
        return result_of(self, registry)

    def to_pandas(self) -> pd.DataFrame:
        """Return the lines as a data frame, indexed by component and input.

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
        >>> budget = evaluation.budget
        >>> budget.to_pandas().index.names
        FrozenList(['component', 'input'])
        """
        import pandas as pd

        return pd.DataFrame(self.columns()).set_index(["component", "input"])

    def to_polars(self) -> pl.DataFrame:
        """Return the lines as a data frame.

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
        >>> budget = evaluation.budget
        >>> budget.to_polars().columns[:2]
        ['component', 'input']
        """
        import polars as pl

        return pl.DataFrame(self.columns())

    def _repr_html_(self) -> str:
        return budget_html(self)

    def _repr_latex_(self) -> str:
        return budget_latex(self)
