"""Tables for other programs: workbooks, documents, Markdown."""

from __future__ import annotations

import os
from typing import Any

from flowdoubt._core import InputError, write_whole
from flowdoubt.exports.contents import tables_of

_SUFFIXES = (".docx", ".md", ".xlsx")


def export(thing: Any, path: str | os.PathLike[str], overwrite: bool = False) -> None:
    """Write the tables of a result; the suffix ``.xlsx``, ``.docx`` or ``.md`` tells the form.

    A workbook has a sheet for each table, and numbers with sixteen digits that are shown
    rounded; documents and Markdown have the rounded ones. A text that a spreadsheet would take
    for a formula stays text. The file is there as a whole or not at all.

    Parameters
    ----------
    thing
        A budget, an evaluation, a worksheet, a plan and its comparison, a target, a verification,
        a series, the difference of two flows, a table of many sites, a list of instruments or of
        steps, a data frame of pandas or polars; or a mapping of names to such things, to have all
        of them in one file.
    path
        A file that ends in ``.xlsx``, ``.docx`` or ``.md``.
    overwrite
        Whether a file that exists may be replaced. It is written whole or not at all.

    Raises
    ------
    InputError
        Another suffix; something of which there is no table; a file that cannot be written.
    RecordError
        A file that exists, unless `overwrite` is asked for.
    ModuleNotFoundError
        Without the packages openpyxl and python-docx, which the extra ``flowdoubt[export]`` brings.

    Examples
    --------
    >>> import flowdoubt as fd
    >>> import tempfile
    >>> from pathlib import Path
    >>> site = fd.Site.load("notebooks/demo/site.toml")
    >>> evaluation = site.evaluate("notebooks/demo/readings.csv")
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     fd.export(evaluation, f"{folder}/flow.md")
    ...     Path(f"{folder}/flow.md").read_text().splitlines()[0]
    '## result'
    """
    suffix = os.path.splitext(path)[1].lower()
    if suffix not in _SUFFIXES:
        allowed = f"a name that ends in {', '.join(_SUFFIXES[:-1])} or {_SUFFIXES[-1]}"
        raise InputError(f"path: found {os.fspath(path)!r}; allowed: {allowed}")
    if not overwrite and os.path.lexists(path):
        # says so before the work is done, as the writing itself does after it
        write_whole(path, b"", False)
    tables = tables_of(thing)
    if suffix == ".md":
        from flowdoubt.exports.markdown import markdown_of as made
    elif suffix == ".xlsx":
        from flowdoubt.exports.workbook import workbook_of as made
    else:
        from flowdoubt.exports.word import document_of as made
    write_whole(path, made(tables), overwrite)
