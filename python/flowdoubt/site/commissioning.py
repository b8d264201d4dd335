"""The list of commissioning, and what was found on site."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING, Any

from flowdoubt import _core
from flowdoubt.display.commissioning import commissioned_html, commissioning_html

if TYPE_CHECKING:
    import pandas as pd
    import polars as pl

    from flowdoubt.sheet.checklist import Checklist


class Commissioning(_core.Commissioning):
    """The steps of commissioning with the numbers of a site: `Site.commissioning` makes it.

    ``print`` and notebooks show the list; `page` prints it, and `save_form` writes the form that is
    filled in on site and read back by `Site.read_commissioning`.
    """

    def page(
        self, path: str | os.PathLike[str], paper: str = "A4", *, overwrite: bool = False
    ) -> None:
        """Write the list as pages to print: boxes to tick, what is expected, lines to write on.

        The same list gives the same bytes. It needs matplotlib.

        Parameters
        ----------
        path
            A file that ends in ``.pdf``.
        paper
            ``"A4"``, ``"A3"`` or ``"Letter"``.
        overwrite
            Whether a file that exists may be replaced. It is written whole or not at all.

        Raises
        ------
        RecordError
            A file that exists and may not be replaced.
        InputError
            Another suffix, unknown paper, a folder that cannot be written in, no matplotlib.

        Examples
        --------
        >>> import tempfile, pathlib, flowdoubt as fd
        >>> site = fd.Site.load("notebooks/demo/site.toml")
        >>> folder = tempfile.TemporaryDirectory()
        >>> list_ = site.commissioning(temperature="8 degC")
        >>> list_.page(pathlib.Path(folder.name) / "commissioning.pdf")
        >>> folder.cleanup()
        """
        from flowdoubt.sheet.printed_list import printed_list

        content = printed_list(self._checklist(), path, paper)
        _core.write_whole(path, content, overwrite)

    def save_form(self, path: str | os.PathLike[str], overwrite: bool = False) -> None:
        """Write the form that is filled in on site.

        Parameters
        ----------
        path
            The file.
        overwrite
            Whether a file that exists may be replaced. It is written whole or not at all.

        Raises
        ------
        RecordError
            A file that exists, unless `overwrite` is asked for.
        InputError
            A file that cannot be written.

        Examples
        --------
        >>> import flowdoubt as fd
        >>> site = fd.Site.load("notebooks/demo/site.toml")
        >>> steps = site.commissioning(temperature="8 degC")
        >>> import os, tempfile
        >>> folder = tempfile.mkdtemp()
        >>> steps.save_form(f"{folder}/form.toml")
        >>> os.listdir(folder)
        ['form.toml']
        """
        _core.write_whole(path, self.form().encode(), overwrite)

    def _checklist(self) -> Checklist:
        """Return what is printed."""
        from flowdoubt.sheet.commissioning import checklist_of

        return checklist_of(self)

    def to_pandas(self) -> pd.DataFrame:
        """Return what is to be noted as a data frame.

        Returns
        -------
        pandas.DataFrame
            A row for each number, which stands in the unit beside it.

        Raises
        ------
        ModuleNotFoundError
            Without the package pandas.

        Examples
        --------
        >>> import flowdoubt as fd
        >>> site = fd.Site.load("notebooks/demo/site.toml")
        >>> steps = site.commissioning(temperature="8 degC")
        >>> len(steps.to_pandas()) > 0
        True
        """
        import pandas as pd

        return pd.DataFrame(_rows(self))

    def to_polars(self) -> pl.DataFrame:
        """Return what is to be noted as a data frame.

        Returns
        -------
        polars.DataFrame
            A row for each number, which stands in the unit beside it.

        Raises
        ------
        ModuleNotFoundError
            Without the package polars.

        Examples
        --------
        >>> import flowdoubt as fd
        >>> site = fd.Site.load("notebooks/demo/site.toml")
        >>> steps = site.commissioning(temperature="8 degC")
        >>> steps.to_polars().height > 0
        True
        """
        import polars as pl

        return pl.DataFrame(_rows(self), infer_schema_length=None)

    def _repr_html_(self) -> str:
        return commissioning_html(self)


class Commissioned(_core.Commissioned):
    """What was found on commissioning, step by step: `Site.read_commissioning` reads it.

    ``as_it_should_be`` says whether all is well, ``steps`` what each came to, and `taken_over` puts
    what was found into the site.
    """

    def to_pandas(self) -> pd.DataFrame:
        """Return what was noted as a data frame.

        Returns
        -------
        pandas.DataFrame
            A row for each number, which stands in the unit beside it.

        Raises
        ------
        ModuleNotFoundError
            Without the package pandas.

        Examples
        --------
        >>> import flowdoubt as fd
        >>> site = fd.Site.load("notebooks/demo/site.toml")
        >>> steps = site.commissioning(temperature="8 degC")
        >>> found = site.commissioned(steps.form())
        >>> found.to_pandas().empty
        True
        """
        import pandas as pd

        return pd.DataFrame(_rows(self))

    def to_polars(self) -> pl.DataFrame:
        """Return what was noted as a data frame.

        Returns
        -------
        polars.DataFrame
            A row for each number, which stands in the unit beside it.

        Raises
        ------
        ModuleNotFoundError
            Without the package polars.

        Examples
        --------
        >>> import flowdoubt as fd
        >>> site = fd.Site.load("notebooks/demo/site.toml")
        >>> steps = site.commissioning(temperature="8 degC")
        >>> found = site.commissioned(steps.form())
        >>> found.to_polars().is_empty()
        True
        """
        import polars as pl

        return pl.DataFrame(_rows(self), infer_schema_length=None)

    def _repr_html_(self) -> str:
        return commissioned_html(self)


def _rows(of: _core.Commissioning | _core.Commissioned) -> list[dict[str, Any]]:
    """Return a row for each number, with the key of its step."""
    return [{"step": step["key"], **entry} for step in of.steps for entry in step["entries"]]
