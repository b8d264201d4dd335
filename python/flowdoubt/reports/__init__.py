"""The report of an evaluation: one page of HTML, or a PDF."""

from __future__ import annotations

import os
from importlib.util import find_spec
from typing import TYPE_CHECKING

from flowdoubt import _core
from flowdoubt._core import InputError, write_whole
from flowdoubt.edge.text import shown
from flowdoubt.models.trials import Trials
from flowdoubt.site.evaluation import Evaluation
from flowdoubt.site.readings import Readings
from flowdoubt.site.record import Record
from flowdoubt.site.verification import Verification, VerificationResult

if TYPE_CHECKING:
    from flowdoubt.reports.blocks import Content


class Report:
    """A report, to be shown in a notebook or saved as HTML or PDF. Made by `flowdoubt.report`."""

    def __init__(self, content: Content, reproduces: bool | None) -> None:
        self._content = content
        self.reproduces = reproduces
        """Whether every figure of the record was the same when computed anew; None without one."""

    def html(self) -> str:
        """Return the report as one page of HTML that needs nothing from elsewhere.

        Returns
        -------
        str
            The page.
        """
        from flowdoubt.reports.html import html_of

        return html_of(self._content)

    def pdf(self) -> bytes:
        """Return the report as PDF on A4.

        Returns
        -------
        bytes
            The file.

        Raises
        ------
        ModuleNotFoundError
            Without the package typst, which the extra ``flowdoubt[report]`` brings.
        """
        from flowdoubt.reports.pdf import pdf_of

        return pdf_of(self._content)

    def save(self, path: str | os.PathLike[str], overwrite: bool = False) -> None:
        """Write the report; the suffix ``.html`` or ``.pdf`` tells the form.

        The file is there as a whole or not at all.

        Parameters
        ----------
        path
            A file that ends in ``.html`` or ``.pdf``.
        overwrite
            Whether a file that exists may be replaced. It is written whole or not at all.

        Raises
        ------
        FlowdoubtError
            Another suffix; a file that exists, unless `overwrite` is asked for; a folder that
            cannot be written to.
        ModuleNotFoundError
            As `pdf`.
        """
        suffix = os.path.splitext(path)[1].lower()
        if suffix not in {".html", ".pdf"}:
            message = f"path: found {os.fspath(path)!r}; allowed: a name that ends in .html or .pdf"
            raise InputError(message)
        if not overwrite and os.path.lexists(path):
            # says so before the work is done, as the writing itself does after it
            write_whole(path, b"", False)
        data = self.pdf() if suffix == ".pdf" else self.html().encode()
        write_whole(path, data, overwrite)

    def __repr__(self) -> str:
        return f"<Report of {self._content.subject!r}: {shown(self._content.result)}>"

    def _repr_html_(self) -> str:
        from flowdoubt.edge.text import escape

        content = self._content
        headings = ", ".join(section.heading.lower() for section in content.sections)
        return (
            f"<p><b>{escape(content.title)}: {escape(content.subject)}</b><br>"
            f"{escape(content.result)}<br><small>{escape(headings)}; record SHA-256 "
            f"{escape(content.digest)}. <code>.save(path)</code> writes HTML or PDF.</small></p>"
        )


def report(
    result: Evaluation | Record,
    trials: Trials | None = None,
    *,
    verification: VerificationResult | Verification | str | os.PathLike[str] | None = None,
    digits: int = 2,
    at_no_flow: Readings | None = None,
) -> Report:
    """Make the report of an evaluation, for customer and auditor.

    It says what was measured, shows the sound path to scale with the dimensions to mark out, the
    result, the budget as table and chart, Monte Carlo against first order, the checks made, the
    evidence, and how to compute all of it anew; the record with all inputs travels with it.

    Parameters
    ----------
    result
        The evaluation; or a record of one, which is computed anew, with what was done beside it.
    trials
        Monte Carlo trials of the evaluation; a record has its own.
    verification
        A verification of the meter, which gets a section with its chart; of a verification, or the
        path of its file, with the site of the evaluation.
    digits
        Significant digits of the standard uncertainty for the comparison of first order with
        Monte Carlo; a record has its own.
    at_no_flow
        Readings at no flow, as for `Evaluation.zero_check`; a record has its own.

    Returns
    -------
    Report
        With ``html()``, ``pdf()`` and ``save(path)``.

    Raises
    ------
    InputError
        Trials, digits or readings at no flow beside a record.
    FlowdoubtError
        A record whose inputs cannot be evaluated.
    ModuleNotFoundError
        Without matplotlib, which the extra ``flowdoubt[report]`` brings, as it does typst.

    Examples
    --------
    >>> import flowdoubt as fd
    >>> site = fd.Site.load("notebooks/demo/site.toml")
    >>> evaluation = site.evaluate("notebooks/demo/readings.csv")
    >>> made = fd.report(evaluation, evaluation.monte_carlo(trials=10_000))
    >>> evaluation.site in made.html()
    True
    """
    if find_spec("matplotlib") is None:
        message = "figures are drawn by the package matplotlib: pip install 'flowdoubt[report]'"
        raise ModuleNotFoundError(message, name="matplotlib")
    from flowdoubt.reports.content import content_of
    from flowdoubt.reports.sections.measured import Measured

    reproduction = None
    if isinstance(result, Record):
        if trials is not None or digits != 2 or at_no_flow is not None:
            message = "report: allowed: trials, digits and at_no_flow with an evaluation only"
            raise InputError(message)
        record = result
        reproduction = record.reproduce()
        evaluation, trials, digits, zero = record.recomputed()
    else:
        evaluation = result
        record = evaluation.record(trials, digits, at_no_flow)
        zero = None if at_no_flow is None else evaluation.zero_check(at_no_flow)
    if verification is not None and not isinstance(verification, VerificationResult):
        verification = _core.site_of(evaluation).verify(verification)
    recorded = record.to_dict()["content"]["evaluation"]["results"]
    measured = Measured(evaluation, trials, digits, zero, recorded)
    content = content_of(measured, verification, record, reproduction)
    return Report(content, None if reproduction is None else reproduction.agrees)
