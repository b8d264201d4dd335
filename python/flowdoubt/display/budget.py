"""A budget as HTML and as a formula."""

from __future__ import annotations

from flowdoubt import _core
from flowdoubt._core import rounded_pair
from flowdoubt.display import html
from flowdoubt.display.words import dof, named_inputs, unit_of
from flowdoubt.edge.text import escape

# Heading and style of each column; words of inputs may wrap, or a narrow screen shows nothing else.
_COLUMNS = (
    ("input", f"{html.WORDS};min-width:10em"),
    ("estimate", html.NUMBER),
    ("standard uncertainty", html.NUMBER),
    ("unit", html.NAME),
    ("distribution", html.NAME),
    ("degrees of freedom", html.NUMBER),
    ("sensitivity", html.NUMBER),
    ("contribution", html.NUMBER),
    ("share", html.NUMBER),
    ("evidence", html.EVIDENCE),
)


def budget_html(budget: _core.Budget) -> str:
    """Return a budget as a table, grouped by component, with the result below."""
    styles = [style for _, style in _COLUMNS]
    # text of a user has no ends of lines any more
    names = zip(named_inputs(budget), budget.rounded_lines(), strict=True)
    lines = [[own, name, *cells] for name, (own, _, *cells) in names]
    rows = [html.heading(_COLUMNS)]
    for component, share in budget.components().items():
        if component:
            title = html.cell(component, f"{html.WORDS};{html.COMPONENT}", span=len(_COLUMNS) - 2)
            total = html.cell(f"{100 * share:.1f} %", f"{html.NUMBER};{html.COMPONENT}")
            rows.append(html.row([title, total, html.cell("", html.COMPONENT)]))
        for own_component, *cells in lines:
            if own_component == component:
                rows.append(html.row(map(html.cell, cells, styles)))
    return html.table(rows) + f"<p>{escape(budget.result_in_words)}</p>"


# What TeX would take for more than a letter.
_TEX = {
    "\\": r"\textbackslash{}",
    "{": r"\{",
    "}": r"\}",
    "$": r"\$",
    "&": r"\&",
    "#": r"\#",
    "_": r"\_",
    "%": r"\%",
    "~": r"\textasciitilde{}",
    "^": r"\textasciicircum{}",
}


def _tex(words: str) -> str:
    return r"\text{" + "".join(_TEX.get(letter, letter) for letter in words) + "}"


_RAISED = str.maketrans(
    "\u2070\u00b9\u00b2\u00b3\u2074\u2075\u2076\u2077\u2078\u2079\u207b", "0123456789-"
)


def _tex_number(number: str) -> str:
    mantissa, _, power = number.replace("\N{NO-BREAK SPACE}", "").partition(
        "\N{MULTIPLICATION SIGN}10"
    )
    return rf"{mantissa} \times 10^{{{power.translate(_RAISED)}}}" if power else mantissa


def budget_latex(budget: _core.Budget) -> str:
    """Return the result as a formula, rounded as JCGM 100:2008, 7.2.6, has it."""
    estimate, u = map(_tex_number, rounded_pair(*budget.result()))
    unit = unit_of(budget.unit)
    after = "" if unit in {"", "1"} else rf"\ {_tex(unit)}"
    nu = dof(budget.effective_dof)
    nu = r"\infty" if nu == "\N{INFINITY}" else nu
    return (
        rf"${_tex(budget.output)} = {estimate}{after},\quad u_\mathrm{{c}} = {u}{after},\quad "
        rf"\nu_\mathrm{{eff}} = {nu}$"
    )
