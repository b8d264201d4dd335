"""An evaluation as HTML."""

from __future__ import annotations

from flowdoubt import _core
from flowdoubt._core import CAUTIONS
from flowdoubt.display import html
from flowdoubt.display.budget import budget_html
from flowdoubt.display.sketch import path_sketch
from flowdoubt.edge.text import escape, small_print


def evaluation_html(evaluation: _core.Evaluation) -> str:
    """Return site, result and budget, with the cautions that go with them."""
    layout = evaluation.path_layout
    sketch = "" if layout is None else path_sketch(layout)
    headline = html.title(evaluation.site, evaluation.headline) + sketch
    warnings = "".join(
        f"<p><b>warning ({escape(code)})</b>: {escape(words)}</p>"
        for code, words in evaluation.warnings
    )
    how_read = "; ".join(evaluation.how_read)
    if how_read:
        warnings += f"<p>how the readings were read: {escape(how_read)}</p>"
    return headline + warnings + budget_html(evaluation.budget) + small_print(CAUTIONS)
