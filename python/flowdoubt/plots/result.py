"""Figures of a result: what contributes to its uncertainty, and its distribution."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from flowdoubt._core import rounded
from flowdoubt.display.language import Theirs, spoken
from flowdoubt.display.words import unit_of
from flowdoubt.edge.errors import refuse
from flowdoubt.edge.text import shown as shown_text
from flowdoubt.plots.drawing import axes_of, plain_frame

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from flowdoubt._core import Budget, Evaluation, Trials

_INK, _DARK, _LIGHT = "0.1", "0.35", "0.75"


# of the combined standard uncertainty: what is less has no bar of its own
_LEAST = 1e-3


def contributions(budget: Budget, ax: Axes | None = None, *, most: int = 10) -> Axes:
    """Draw the contributions to the standard uncertainty as bars, largest first.

    Parameters
    ----------
    budget
        The budget to draw.
    ax
        Axes to draw on; new ones if not given.
    most
        Number of inputs with a bar of their own; the rest is added in quadrature to one bar, and so
        is what is below a thousandth of the combined standard uncertainty.

    Returns
    -------
    matplotlib.axes.Axes
        The axes drawn on.

    Raises
    ------
    InputError
        A number of inputs below 1.
    ModuleNotFoundError
        Without the package matplotlib.

    Examples
    --------
    >>> import flowdoubt as fd
    >>> site = fd.Site.load("notebooks/demo/site.toml")
    >>> evaluation = site.evaluate("notebooks/demo/readings.csv")
    >>> ax = fd.plots.contributions(evaluation.budget)
    >>> type(ax).__name__
    'Axes'
    """
    if not isinstance(most, int) or isinstance(most, bool) or most < 1:
        allowed = "a whole number, 1 or above"
        raise refuse(f"most: found {most!r}; allowed: {allowed}", field="most", allowed=allowed)
    say = spoken()
    columns = budget.columns()
    names = [
        f"{shown_text(say.input(phrases, name))}\n{shown_text(say.word(component))}"
        for phrases, name, component in zip(
            budget._phrases(), columns["input"], columns["component"], strict=True
        )
    ]
    size = np.abs(np.asarray(columns["contribution"], dtype=float))
    share = np.asarray(columns["share"], dtype=float)
    order = np.argsort(-size)
    _, combined = budget.result()
    # bars that nobody could see
    seen = int(np.sum(size >= _LEAST * combined))
    shown, rest = order[: min(most, seen)], order[min(most, seen) :]
    labels = [names[i] for i in shown]
    bars = list(size[shown])
    shares = list(share[shown])
    if rest.size:
        others = say("figures.other")
        if rest.size > 1:
            others = say("figures.others", count=str(rest.size))
            others += f"\n{say('figures.in_quadrature')}"
        labels.append(others)
        bars.append(float(np.sqrt(np.sum(size[rest] ** 2))))
        shares.append(float(share[rest].sum()))

    ax = axes_of(ax, 7.0, 0.42 * (len(bars) + 2) + 0.6)
    position = np.arange(len(bars))
    ax.barh(position, bars, color=_DARK, height=0.62)
    for place, (bar, part) in enumerate(zip(bars, shares, strict=True)):
        ax.annotate(
            say.number(f"{rounded(bar)}  ({100 * part:.0f} %)" if part >= 0.005 else rounded(bar)),
            (bar, place),
            xytext=(4, 0),
            textcoords="offset points",
            va="center",
            fontsize=8,
            color=_INK,
        )
    last = len(bars) + 0.3
    ax.barh([last], [combined], color="white", edgecolor=_INK, hatch="////", height=0.62)
    ax.annotate(
        say.number(rounded(combined)),
        (combined, last),
        xytext=(4, 0),
        textcoords="offset points",
        va="center",
        fontsize=8,
        fontweight="bold",
    )
    ax.set_yticks(
        [*position, last],
        [*labels, f"{say('figures.combined')}\n{say('figures.uncertainty')}"],
        fontsize=8,
    )
    ax.invert_yaxis()
    ax.set_xlim(0, 1.15 * combined)
    unit = unit_of(budget.unit)
    of_output = say("figures.of_output", output=Theirs(say.word(budget.output)))
    ax.set_xlabel(f"{say('figures.contribution')}\n{of_output} / ({unit})", fontsize=9)
    plain_frame(ax)
    return ax


def distribution(evaluation: Evaluation, trials: Trials, ax: Axes | None = None) -> Axes:
    """Draw the Monte Carlo trials with the first-order result and both coverage intervals.

    Parameters
    ----------
    evaluation
        The evaluation that the trials belong to.
    trials
        Its Monte Carlo trials.
    ax
        Axes to draw on; new ones if not given.

    Returns
    -------
    matplotlib.axes.Axes
        The axes drawn on.

    Raises
    ------
    ModuleNotFoundError
        Without the package matplotlib.

    Examples
    --------
    >>> import flowdoubt as fd
    >>> site = fd.Site.load("notebooks/demo/site.toml")
    >>> evaluation = site.evaluate("notebooks/demo/readings.csv")
    >>> trials = evaluation.monte_carlo(trials=10_000, seed=1)
    >>> ax = fd.plots.distribution(evaluation, trials)
    >>> type(ax).__name__
    'Axes'
    """
    say = spoken()
    ax = axes_of(ax, 7.0, 3.6)
    ax.hist(trials.values(), bins=120, density=True, color=_LIGHT, label=say("figures.trials"))
    estimate, u = evaluation.budget.result()
    x = np.linspace(estimate - 4 * u, estimate + 4 * u, 401)
    density = np.exp(-0.5 * ((x - estimate) / u) ** 2) / (u * np.sqrt(2 * np.pi))
    ax.plot(x, density, color=_INK, label=say("figures.first_order_normal"))
    top = float(np.max(density))
    p = evaluation.coverage_probability
    intervals = {
        "first_order": evaluation.interval(),
        "symmetric": trials.interval(p, kind="symmetric"),
        "shortest": trials.interval(p, kind="shortest"),
    }
    styles = ("-", "--", ":")
    for row, ((name, interval), style) in enumerate(zip(intervals.items(), styles, strict=True)):
        height = -top * (0.07 + 0.07 * row)
        high = interval[1]
        ax.plot(interval, [height, height], style, color=_INK, marker="|")
        ax.annotate(
            say(f"figures.{name}"),
            (high, height),
            xytext=(6, 0),
            textcoords="offset points",
            va="center",
            fontsize=8,
        )
    ax.axhline(0, color=_INK, linewidth=0.6)
    ax.set_yticks([])
    ax.set_xlabel(f"{say.word(evaluation.budget.output)} / ({unit_of(trials.unit)})")
    ax.set_title(say("figures.intervals", p=f"{100 * p:g} %"), fontsize=9, loc="left")
    ax.legend(frameon=False, fontsize=8, loc="upper right")
    plain_frame(ax)
    ax.spines["left"].set_visible(False)
    return ax
