"""A site as HTML."""

from __future__ import annotations

from flowdoubt import _core
from flowdoubt._core import CAUTIONS
from flowdoubt.display import html
from flowdoubt.display.sketch import path_sketch
from flowdoubt.display.words import named
from flowdoubt.edge.text import small_print

_STATED_COLUMNS = (
    ("input", f"{html.WORDS};min-width:10em"),
    ("estimate", html.NUMBER),
    ("standard uncertainty", html.NUMBER),
    ("unit", html.NAME),
    ("distribution", html.NAME),
    ("degrees of freedom", html.NUMBER),
    ("evidence", html.EVIDENCE),
)


def site_html(site: _core.Site) -> str:
    """Return choices and stated inputs of a site, with its path where the file alone tells it."""
    rows = [html.heading(_STATED_COLUMNS)]
    styles = [style for _, style in _STATED_COLUMNS]
    component = ""
    for line in site.stated:
        if line["component"] != component:
            component = line["component"]
            span = len(_STATED_COLUMNS)
            rows.append(
                html.row([html.cell(component, f"{html.WORDS};{html.COMPONENT}", span=span)])
            )
        cells = (
            named(line["input"]),
            line["estimate"],
            line["standard_uncertainty"],
            line["unit"],
            line["distribution"],
            line["dof"],
            line["evidence"],
        )
        rows.append(html.row(map(html.cell, cells, styles)))
    layout = site.path_layout
    sketch = "" if layout is None else path_sketch(layout)
    said = html.title(site.name, site.note) + html.pairs(site.choices) + sketch
    return said + html.table(rows) + small_print(CAUTIONS)
