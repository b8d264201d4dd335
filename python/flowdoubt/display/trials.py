"""Monte Carlo trials as HTML."""

from __future__ import annotations

from typing import Literal

from flowdoubt import _core
from flowdoubt._core import FlowdoubtError, rounded_pair
from flowdoubt.display import html
from flowdoubt.display.sketch import histogram_sketch
from flowdoubt.display.words import to_place
from flowdoubt.edge.text import escape


def trials_html(trials: _core.Trials) -> str:
    """Return mean, standard uncertainty and 95 % intervals of trials, with their histogram."""
    estimate, u = trials.result()
    rounded_mean, rounded_u = rounded_pair(estimate, u)
    rows = [
        ("trials", f"{trials.trials}, seed {trials.seed}"),
        ("mean", f"{rounded_mean} {trials.unit}"),
        ("standard uncertainty", f"{rounded_u} {trials.unit}"),
    ]
    sketch = ""
    kinds: tuple[Literal["symmetric", "shortest"], ...] = ("symmetric", "shortest")
    for kind in kinds:
        try:
            low, high = trials.interval(0.95, kind)
        except FlowdoubtError as error:  # too few trials
            rows.append((f"95 % interval, {kind}", str(error)))
            continue
        ends = [to_place(end, u / 10) for end in (low, high)]
        rows.append((f"95 % interval, {kind}", f"{ends[0]} to {ends[1]} {trials.unit}"))
        sketch = histogram_sketch(trials.values(), low, high)
    said = f"<p><b>Monte Carlo trials of {escape(trials.output)}</b> (JCGM 101)</p>"
    return said + html.pairs(rows) + sketch
