"""Many sites at once."""

from __future__ import annotations

import csv
import io
import os
from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, Any, TypeAlias

from flowdoubt import _core
from flowdoubt.display.series import sites_html
from flowdoubt.edge.errors import refuse
from flowdoubt.edge.text import cell, shown
from flowdoubt.models.jobs import progress_bar

if TYPE_CHECKING:
    from concurrent.futures import Executor, Future
    from pathlib import Path

    import pandas as pd
    import polars as pl

PathLike: TypeAlias = str | os.PathLike[str]
Files: TypeAlias = "tuple[Path, Path]"

_NUMBERS = ("volume_flow", "standard_uncertainty", "expanded_uncertainty")
_SI_NUMBERS = tuple(f"{name}_m3_s" for name in _NUMBERS)
_FILES, _WORDS = ("site", "file", "readings"), ("headline", "warnings", "error")


class SiteTable:
    """One row for each site, in the order given, whatever became of it.

    Made by `flowdoubt.evaluate_sites`.
    """

    def __init__(self, rows: list[dict[str, Any]]) -> None:
        self.rows = rows
        """One dictionary for each site, with NaN where ``error`` says why.

        ``volume_flow`` and its uncertainties are in ``unit``, that of the site; those whose names
        end in ``m3_s`` can be compared from site to site.
        """

    @property
    def failed(self) -> list[dict[str, Any]]:
        """The rows of sites without a result."""
        return [row for row in self.rows if row["error"]]

    @property
    def in_words(self) -> str:
        """How many sites there are, and how many have a result."""
        failed = len(self.failed)
        return f"{len(self.rows)} sites, {len(self.rows) - failed} with a result, {failed} failed"

    def columns(self, si: bool = False) -> dict[str, list[Any]]:
        """Return the table as columns; warnings of a site are joined to one text.

        Parameters
        ----------
        si
            Flows in m3/s, with the unit in the names of the columns. Otherwise those of each site
            are in the unit of its file, which the column ``unit`` has.

        Returns
        -------
        dict of list
            Lists by column, each as long as there are sites.

        Examples
        --------
        >>> import flowdoubt as fd
        >>> table = fd.evaluate_sites(["notebooks/demo/site.toml"])
        >>> list(table.columns())[:2]
        ['site', 'file']
        """
        numbers = _SI_NUMBERS if si else (*_NUMBERS, "unit")
        names = (*_FILES, *numbers, *_WORDS)
        columns = {name: [row[name] for row in self.rows] for name in names}
        columns["warnings"] = ["; ".join(warnings) for warnings in columns["warnings"]]
        return columns

    def to_pandas(self, si: bool = False) -> pd.DataFrame:
        """Return the table as a data frame; see `columns`.

        Parameters
        ----------
        si
            Flows in m3/s, with the unit in the names of the columns; otherwise those of each site
            are in the unit of its file.

        Returns
        -------
        pandas.DataFrame
            A row for each site.

        Raises
        ------
        ModuleNotFoundError
            Without the package pandas.

        Examples
        --------
        >>> import flowdoubt as fd
        >>> table = fd.evaluate_sites(["notebooks/demo/site.toml"])
        >>> len(table.to_pandas())
        1
        """
        import pandas as pd

        return pd.DataFrame(self.columns(si))

    def to_polars(self, si: bool = False) -> pl.DataFrame:
        """Return the table as a data frame; see `columns`.

        Parameters
        ----------
        si
            Flows in m3/s, with the unit in the names of the columns; otherwise those of each site
            are in the unit of its file.

        Returns
        -------
        polars.DataFrame
            A row for each site.

        Raises
        ------
        ModuleNotFoundError
            Without the package polars.

        Examples
        --------
        >>> import flowdoubt as fd
        >>> table = fd.evaluate_sites(["notebooks/demo/site.toml"])
        >>> table.to_polars().height
        1
        """
        import polars as pl

        return pl.DataFrame(self.columns(si))

    def to_csv(self, si: bool = False) -> str:
        """Return the table as CSV text, numbers with every bit, empty where there is none.

        A text that a spreadsheet would take for a formula has an apostrophe before it.

        Parameters
        ----------
        si
            Flows in m3/s, with the unit in the names of the columns; otherwise those of each site
            are in the unit of its file.

        Returns
        -------
        str
            CSV with a line for each site.

        Examples
        --------
        >>> import flowdoubt as fd
        >>> table = fd.evaluate_sites(["notebooks/demo/site.toml"])
        >>> len(table.to_csv().splitlines())
        2
        """
        text = io.StringIO()
        columns = self.columns(si)
        writer = csv.writer(text, lineterminator="\n")
        writer.writerow(columns)
        for cells in zip(*columns.values(), strict=True):
            writer.writerow(map(_written, cells))
        return text.getvalue()

    def save(self, path: PathLike, overwrite: bool = False, si: bool = False) -> None:
        """Write the table as CSV: as a whole or not at all, and over no file unless asked to.

        Parameters
        ----------
        path
            The file.
        overwrite
            Whether a file that exists may be replaced. It is written whole or not at all.
        si
            Flows in m3/s, with the unit in the names of the columns; otherwise those of each site
            are in the unit of its file.

        Raises
        ------
        RecordError
            A file that exists, unless `overwrite` is asked for.
        InputError
            A file that cannot be written.

        Examples
        --------
        >>> import flowdoubt as fd
        >>> table = fd.evaluate_sites(["notebooks/demo/site.toml"])
        >>> import os, tempfile
        >>> folder = tempfile.mkdtemp()
        >>> table.save(f"{folder}/sites.csv")
        >>> os.listdir(folder)
        ['sites.csv']
        """
        _core.write_whole(path, self.to_csv(si).encode(), overwrite)

    def __len__(self) -> int:
        return len(self.rows)

    def __repr__(self) -> str:
        return f"<SiteTable: {self.in_words}>"

    def __str__(self) -> str:
        lines = [
            shown(f"{row['file']}: {row['error'] or row['site'] + ': ' + row['headline']}")
            for row in self.rows
        ]
        return "\n".join([*lines, self.in_words])

    def _repr_html_(self) -> str:
        return sites_html(self.rows, self.in_words)


def evaluate_sites(
    sites: PathLike | Iterable[PathLike] | Mapping[PathLike, PathLike],
    *,
    executor: Executor | None = None,
    progress: bool = False,
) -> SiteTable:
    """Evaluate many sites to one table. A site that fails keeps its row, with the reason.

    Parameters
    ----------
    sites
        A folder, site files, or a mapping of site files to files of readings. In a folder every
        ``*.toml`` is a site, and every ``site.toml`` in the folders just below. The readings of
        ``site.toml`` are ``readings.csv`` beside it, those of any other ``name.toml`` are
        ``name.csv`` beside it, unless a mapping says otherwise.
    executor
        Any executor of ``concurrent.futures``: a process pool, Dask's ``Client.get_executor()``.
        Files are read here and sent as they are. Without one the threads inside do the work; the
        results are the same.
    progress
        Show a progress bar (tqdm).

    Returns
    -------
    SiteTable
        ``rows``, ``failed``, ``to_pandas()``, ``to_polars()``, ``save(path)``.

    Raises
    ------
    FlowdoubtError
        A folder that cannot be read or has no site in it; nothing to evaluate.
    ModuleNotFoundError
        Without the package tqdm, where a progress bar is asked for.

    Examples
    --------
    >>> table = evaluate_sites(["notebooks/demo/site.toml", "nowhere/site.toml"])
    >>> table
    <SiteTable: 2 sites, 1 with a result, 1 failed>
    >>> table.failed[0]["error"].partition(":")[0]
    'cannot read nowhere/site.toml'
    """
    files = _files(sites)
    with progress_bar(len(files) if progress else None, "sites", "site") as looker:
        if executor is not None:
            return SiteTable(_by_executor(files, executor, looker))
        rows = []
        # by parts, between which Ctrl-C is heard and the bar moves
        for start in range(0, len(files), _PART):
            rows += _core.evaluate_site_files(files[start : start + _PART])
            if looker is not None:
                looker(len(rows))
        return SiteTable(rows)


_PART = 64


def _files(sites: Any) -> list[Files]:
    from pathlib import Path

    if isinstance(sites, (str, os.PathLike)):
        path = Path(sites)
        if path.suffix != ".toml" or path.is_dir():
            return _core.sites_in_folder(path)
        sites = [path]
    if isinstance(sites, Mapping):
        files = [(Path(site), Path(readings)) for site, readings in sites.items()]
    else:
        files = [(Path(site), _core.readings_beside(site)) for site in sites]
    if not files:
        raise refuse(
            "sites: found none; allowed: a folder, site files, or a mapping of them to readings",
            code="missing",
            field="sites",
            allowed="one site or more",
        )
    return files


def _written(value: Any) -> Any:
    if isinstance(value, str):
        return cell(value)
    return "" if value != value else value


def _job(files: Files, texts: tuple[str, bytes]) -> dict[str, Any]:
    return _core.evaluate_site_texts(files, texts)


def _failed(files: Files, error: BaseException) -> dict[str, Any]:
    row: dict[str, Any] = dict.fromkeys((*_NUMBERS, *_SI_NUMBERS), float("nan"))
    site, readings = map(str, files)
    row |= {"site": "", "file": site, "readings": readings, "unit": "", "headline": ""}
    row["warnings"] = []
    return row | {"error": str(error) or type(error).__name__}


def _by_executor(files: list[Files], executor: Executor, looker: Any) -> list[dict[str, Any]]:
    from concurrent.futures import FIRST_COMPLETED, wait

    rows: dict[int, dict[str, Any]] = {}
    pending: dict[Future[dict[str, Any]], int] = {}
    try:
        for number, own in enumerate(files):
            try:
                texts = _core.read_site_files(*own)
            except _core.FlowdoubtError as error:
                rows[number] = _failed(own, error)
                continue
            pending[executor.submit(_job, own, texts)] = number
        while pending:
            # short waits, so that Ctrl-C is heard on every platform
            done, _ = wait(pending, timeout=0.1, return_when=FIRST_COMPLETED)
            for future in done:
                number = pending.pop(future)
                # whatever befalls a job (a worker that dies): its site keeps its row
                lost = future.exception()
                rows[number] = future.result() if lost is None else _failed(files[number], lost)
            if looker is not None:
                looker(len(rows))
    finally:
        for future in pending:
            future.cancel()
    return [rows[number] for number in range(len(files))]
