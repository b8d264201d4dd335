"""Instruments and kit lists as HTML."""

from __future__ import annotations

from itertools import groupby

from flowdoubt import _core
from flowdoubt._core import CAUTIONS
from flowdoubt.display import html
from flowdoubt.display.words import typographic
from flowdoubt.edge.text import escape, small_print

_THINGS = (
    ("kind", html.NAME),
    ("name", html.NAME),
    ("serial number", html.NAME),
    ("cost", html.NUMBER),
    ("remarks", html.WORDS),
)
_CERTIFICATES = (
    ("certificate", html.NAME),
    ("of", html.WORDS),
    ("date", html.NAME),
    ("due", html.NAME),
    ("scope", html.WORDS),
)
_ITEMS = (
    ("", html.NAME),
    ("what", html.NAME),
    ("needed", html.WORDS),
    ("found", html.WORDS),
)


def inventory_html(inventory: _core.Inventory) -> str:
    """Return what there is, and the certificates."""
    styles = [style for _, style in _THINGS]
    rows = [html.heading(_THINGS)]
    for thing in inventory.things:
        cost = "" if thing["cost"] is None else f"{thing['cost']:g}"
        cells = (thing["kind"], thing["name"], thing["serial_number"], cost, thing["note"])
        rows.append(html.row(map(html.cell, cells, styles)))
    tables = [html.title(inventory.name or inventory.file, inventory.file), html.table(rows)]
    if inventory.certificates:
        styles = [style for _, style in _CERTIFICATES]
        rows = [html.heading(_CERTIFICATES)]
        for one in inventory.certificates:
            cells = (
                one["number"],
                ", ".join(one["of"]),
                one["date"],
                one["due"] or "",
                one["scope"],
            )
            rows.append(html.row(map(html.cell, cells, styles)))
        tables.append(html.table(rows))
    return "".join(tables)


def kit_html(kit: _core.KitList) -> str:
    """Return the list with a box before each item, and the cautions."""
    styles = [style for _, style in _ITEMS]
    rows = [html.heading(_ITEMS)]
    told = zip(kit.items, kit.findings, strict=True)
    for group, items in groupby(told, key=lambda pair: pair[0]["group"]):
        rows.append(
            html.row([html.cell(group, f"{html.COMPONENT};{html.WORDS}", span=len(_ITEMS))])
        )
        for item, finding in items:
            words = (item["what"], typographic(item["needed"]), finding)
            cells = ("\N{BALLOT BOX}", *words)
            rows.append(html.row(map(html.cell, cells, styles)))
    surplus = "; ".join(thing for _, thing in kit.surplus)
    left = f"<p>not needed here: {escape(surplus)}</p>" if surplus else ""
    head = html.title(kit.site, f"what to take, from {kit.inventory}")
    headline = f"<p>{escape(kit.headline)}</p>"
    return f"{head}{headline}{html.table(rows)}{left}{small_print(CAUTIONS)}"
