"""Monte Carlo trials and Sobol indices as users hold them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from flowdoubt import _core
from flowdoubt.display.trials import trials_html

if TYPE_CHECKING:
    import pandas as pd


class Trials(_core.Trials):
    """Monte Carlo trials of one measurand, all of whose values are kept (JCGM 101:2008)."""

    def _repr_html_(self) -> str:
        return trials_html(self)


class Sensitivity(_core.Sensitivity):
    """Sobol indices: what share of the variance each input accounts for, alone and with others."""

    def to_pandas(self) -> pd.DataFrame:
        """Return the indices with their confidence limits as a data frame, indexed by input.

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
        >>> inputs = {"a": fd.normal(1.0, 0.1), "b": fd.normal(2.0, 0.1)}
        >>> indices = fd.sobol_indices(lambda x: x["a"] + x["b"], inputs)
        >>> len(indices.to_pandas())
        2
        """
        import pandas as pd

        return pd.DataFrame(self.columns()).set_index("input")
