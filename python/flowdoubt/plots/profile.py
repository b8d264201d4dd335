"""Figures of the velocity profile; part of `flowdoubt.plots`."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from flowdoubt import profile
from flowdoubt.edge.arrays import FloatArray, FloatOrArray
from flowdoubt.plots.drawing import axes_of, plain_frame

if TYPE_CHECKING:
    from matplotlib.axes import Axes

_INK, _LIGHT = "0.1", "0.85"
# line style and grey of each law drawn
_STYLES: dict[str, tuple[str | tuple[int, tuple[int, ...]], str]] = {
    "wake": ("--", "0.25"),
    "wake_reichardt": ("-.", "0.25"),
    "wake_cantwell": (":", "0.1"),
    "logarithmic": ((0, (6, 2)), "0.45"),
    "power": ((0, (3, 1, 1, 1)), "0.45"),
    "logarithmic_zagarola_smits": ((0, (1, 3)), "0.5"),
    "power_miller": ((0, (8, 3, 1, 3)), "0.6"),
}


def _curves(ax: Axes, x: FloatArray, reynolds: FloatOrArray, roughness: FloatOrArray) -> None:
    smooth = bool(np.all(np.asarray(roughness) == 0))
    k = np.asarray(profile.correction_factor(reynolds, roughness))
    u = np.asarray(profile.law_uncertainty(reynolds, roughness))
    ax.fill_between(
        x, k * (1 - 2 * u), k * (1 + 2 * u), color=_LIGHT, label="twice its standard uncertainty"
    )
    for name, (style, grey) in _STYLES.items():
        if not smooth and name == "power_miller":
            continue  # knows no roughness
        other = profile.correction_factor(reynolds, roughness, law=name)
        ax.plot(x, other, linestyle=style, color=grey, linewidth=1.1, label=profile.LAWS[name])
    ax.plot(x, k, color=_INK, linewidth=2.0, label="default: fitted to measurements")
    ax.set_xscale("log")
    ax.set_ylabel("profile factor $k$")
    ax.legend(frameon=False, fontsize=7, loc="lower right" if smooth else "lower left")
    plain_frame(ax)


def profile_laws(ax: Axes | None = None, *, relative_roughness: float = 0.0) -> Axes:
    """Draw the profile factor of all kinds of laws against the Reynolds number.

    The default law has a band of twice its standard uncertainty.

    Parameters
    ----------
    ax
        Axes to draw on; new ones if not given.
    relative_roughness
        Relative roughness, 0 to 0.05.

    Returns
    -------
    matplotlib.axes.Axes
        The axes drawn on.

    Raises
    ------
    RangeError
        A relative roughness out of range.
    ModuleNotFoundError
        Without the package matplotlib.

    Examples
    --------
    >>> import flowdoubt as fd
    >>> ax = fd.plots.profile_laws()
    >>> type(ax).__name__
    'Axes'
    """
    ax = axes_of(ax, 7.0, 4.2)
    reynolds = np.geomspace(4000, 1e8, 241)
    _curves(ax, reynolds, reynolds, relative_roughness)
    ax.set_xlim(4000, 1e8)
    pipe = (
        "smooth pipe" if relative_roughness == 0 else f"relative roughness {relative_roughness:g}"
    )
    ax.set_xlabel(f"Reynolds number, {pipe}")
    return ax


def profile_roughness(ax: Axes | None = None, *, reynolds: float = 1e6) -> Axes:
    """Draw the profile factor of all kinds of laws against the relative roughness.

    Parameters
    ----------
    ax
        Axes to draw on; new ones if not given.
    reynolds
        Reynolds number, 0 to 1e8.

    Returns
    -------
    matplotlib.axes.Axes
        The axes drawn on.

    Raises
    ------
    RangeError
        A Reynolds number out of range.
    ModuleNotFoundError
        Without the package matplotlib.

    Examples
    --------
    >>> import flowdoubt as fd
    >>> ax = fd.plots.profile_roughness()
    >>> type(ax).__name__
    'Axes'
    """
    ax = axes_of(ax, 7.0, 4.2)
    roughness = np.geomspace(1e-6, 0.05, 241)
    _curves(ax, roughness, reynolds, roughness)
    ax.set_xlim(1e-6, 0.05)
    ax.set_xlabel(f"relative roughness, Reynolds number {reynolds:g}")
    return ax
