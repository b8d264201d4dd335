"""The report of an evaluation or a verification: one page of HTML, or a PDF."""

from __future__ import annotations

import os
from collections.abc import Mapping
from importlib.util import find_spec
from typing import TYPE_CHECKING, Any

from flowdoubt import _core
from flowdoubt._core import InputError, write_whole
from flowdoubt.display.language import language_of
from flowdoubt.edge.text import shown
from flowdoubt.models.trials import Trials
from flowdoubt.reports.head import head_of, head_starter
from flowdoubt.site.evaluation import Evaluation
from flowdoubt.site.readings import Readings
from flowdoubt.site.record import Record
from flowdoubt.site.verification import Verification, VerificationResult

if TYPE_CHECKING:
    from flowdoubt.reports.blocks import Content

__all__ = ["Report", "head_starter", "report"]


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

        Examples
        --------
        >>> import flowdoubt as fd
        >>> site = fd.Site.load("notebooks/demo/site.toml")
        >>> evaluation = site.evaluate("notebooks/demo/readings.csv")
        >>> report = fd.report(evaluation)
        >>> "Uncertainty budget" in report.html()
        True
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

        Examples
        --------
        >>> import flowdoubt as fd
        >>> site = fd.Site.load("notebooks/demo/site.toml")
        >>> evaluation = site.evaluate("notebooks/demo/readings.csv")
        >>> report = fd.report(evaluation)
        >>> report.pdf()[:4]
        b'%PDF'
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

        Examples
        --------
        >>> import flowdoubt as fd
        >>> site = fd.Site.load("notebooks/demo/site.toml")
        >>> evaluation = site.evaluate("notebooks/demo/readings.csv")
        >>> report = fd.report(evaluation)
        >>> import os, tempfile
        >>> folder = tempfile.mkdtemp()
        >>> report.save(f"{folder}/report.html")
        >>> os.listdir(folder)
        ['report.html']
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
        headings = ", ".join(section.heading for section in content.sections)
        record = f"{content.labels['record']} {content.digest}"
        return (
            f"<p><b>{escape(content.title)}: {escape(content.subject)}</b><br>"
            f"{escape(content.result)}<br><small>{escape(headings)}; {escape(record)}. "
            f"<code>.save(path)</code> {escape(content.labels['saved_by'])}</small></p>"
        )


def report(
    result: Evaluation | Record | VerificationResult,
    trials: Trials | None = None,
    *,
    verification: VerificationResult | Verification | str | os.PathLike[str] | None = None,
    digits: int = 2,
    at_no_flow: Readings | None = None,
    head: Mapping[str, Any] | str | os.PathLike[str] | None = None,
    language: str | os.PathLike[str] = "en",
    numbers: str = "plain",
) -> Report:
    """Make the report of an evaluation or of a verification, for customer and auditor.

    It says what was measured, shows the sound path to scale with the dimensions to mark out, the
    result with its statement after JCGM 100:2008, 7.2, instruments and traceability, the decision
    rule, the budget as table and chart, Monte Carlo against first order, the checks made, the
    evidence, and how to compute all of it anew; the record with all inputs travels with it. That
    of a verification has chart, flow points, runs and decision instead.

    Parameters
    ----------
    result
        The evaluation, or the result of a verification; or a record of one, which is computed anew,
        with what was done beside it.
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
    head
        Customer, order, people, instruments and the like, as dictionaries or as the path of a TOML
        file such as `head_starter` gives. It is the word of who wrote it, and no figure of the
        result depends on it.
    language
        ``"en"``, ``"de"``, or the path of a file with the words of another language.
    numbers
        ``"plain"``: a point before the decimals; ``"language"``: decimal sign and groups of three
        as the language has them, units as they are.

    Returns
    -------
    Report
        With ``html()``, ``pdf()`` and ``save(path)``.

    Raises
    ------
    InputError
        Trials, digits or readings at no flow beside a record or a verification; a head or a
        language with unknown keys, a letterhead that is no picture.
    FlowdoubtError
        A record whose inputs cannot be evaluated.
    ModuleNotFoundError
        Without matplotlib, which the extra ``flowdoubt[report]`` brings, as it does typst.

    Examples
    --------
    >>> import flowdoubt as fd
    >>> site = fd.Site.load("notebooks/demo/site.toml")
    >>> evaluation = site.evaluate("notebooks/demo/readings.csv")
    >>> made = fd.report(
    ...     evaluation,
    ...     evaluation.monte_carlo(trials=10_000),
    ...     head={"customer": {"name": "Harrowmere district energy"}},
    ... )
    >>> evaluation.site in made.html()
    True
    """
    if find_spec("matplotlib") is None:
        message = "figures are drawn by the package matplotlib: pip install 'flowdoubt[report]'"
        raise ModuleNotFoundError(message, name="matplotlib")
    from flowdoubt.reports.content import content_of, content_of_verification
    from flowdoubt.reports.sections.measured import Measured

    say, stated = language_of(language, numbers), head_of(head)
    alone = trials is None and digits == 2 and at_no_flow is None
    reproduction = None
    verified = None
    if isinstance(result, Record):
        if not alone:
            message = "report: allowed: trials, digits and at_no_flow with an evaluation only"
            raise InputError(message)
        record = result
        reproduction = record.reproduce()
        if "verification" in record.to_dict()["content"]:
            verified = record.verified()
    elif isinstance(result, VerificationResult):
        verified, record = result, result.record()
    if verified is not None:
        if not alone or verification is not None:
            message = (
                "report: allowed: trials, digits, at_no_flow and verification with an evaluation "
                "only"
            )
            raise InputError(message)
        if stated.requires_flow:
            message = "head: requirement: allowed: with an evaluation only, since it is on the flow"
            raise InputError(message)
        content = content_of_verification(verified, record, reproduction, stated, say)
        return Report(content, None if reproduction is None else reproduction.agrees)
    if isinstance(result, Record):
        evaluation, trials, digits, zero = record.recomputed()
    elif not isinstance(result, VerificationResult):
        evaluation = result
        record = evaluation.record(trials, digits, at_no_flow)
        zero = None if at_no_flow is None else evaluation.zero_check(at_no_flow)
    if verification is not None and not isinstance(verification, VerificationResult):
        verification = _core.site_of(evaluation).verify(verification)
    recorded = record.to_dict()["content"]["evaluation"]["results"]
    measured = Measured(evaluation, trials, digits, zero, recorded, say, stated)
    content = content_of(measured, verification, record, reproduction)
    return Report(content, None if reproduction is None else reproduction.agrees)
