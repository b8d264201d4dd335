"""Figures of the sound path: to scale, and across the velocity profile."""

from __future__ import annotations

from contextlib import suppress
from typing import TYPE_CHECKING, Any

import numpy as np

from flowdoubt._core import InputError, RangeError, grouped
from flowdoubt.display.language import Theirs, spoken
from flowdoubt.plots.drawing import DARK, INK, LIGHT, axes_of, dimension, plain_frame

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from flowdoubt._core import Evaluation
    from flowdoubt.edge.arrays import FloatArray

_MM = 1e3
# grey and hatch of a layer by its place from outside; further layers begin again
_FILLS = (("0.82", "////"), ("0.93", "...."), ("0.7", "xxxx"), ("0.88", "----"))


def _layout_of(evaluation: Evaluation) -> dict[str, Any]:
    layout = evaluation.path_layout
    if layout is None:
        message = (
            "path.wedge_angle: missing; needed: the sound path, from wedge or spacing, to draw it"
        )
        raise InputError(message)
    return layout


def _degrees(radians: float) -> str:
    return spoken().number(f"{np.degrees(radians):.2f}") + "\N{DEGREE SIGN}"


def _layers(layout: dict[str, Any]) -> list[dict[str, Any]]:
    """Return the layers of the pipe itself, from outside to inside, with their radii in mm."""
    radius = _MM * layout["outside_diameter_m"] / 2
    layers = []
    for layer in layout["layers"]:
        if layer["name"] == "couplant":
            continue
        inner = radius - _MM * layer["thickness_m"]
        layers.append({**layer, "outer": radius, "inner": inner})
        radius = inner
    return layers


def _wedge(
    exit_point: FloatArray, angle: float | None, length: float, along: int, up: int
) -> tuple[FloatArray, FloatArray | None]:
    """Return the outline of a wedge and the ray in it; only the angle is to scale."""
    tilt = np.radians(40.0) if angle is None else angle
    ray = np.array([-np.sin(tilt), np.cos(tilt)])
    face = np.array([np.cos(tilt), np.sin(tilt)])
    crystal = 0.55 * length * ray
    low, high = crystal - 0.3 * length * face, crystal + 0.22 * length * face
    outline = np.array(
        [
            (low[0], 0.0),
            low,
            high,
            (0.3 * length, high[1]),
            (0.3 * length, 0.0),
        ]
    )
    turned = np.array([along, up])
    inside = None if angle is None else exit_point + turned * np.array([crystal, (0.0, 0.0)])
    return exit_point + turned * outline, inside


def _axial_section(ax: Axes, layout: dict[str, Any]) -> tuple[float, float, float]:
    """Draw the section along the pipe; return its ends and the height of its wedges in mm."""
    from matplotlib.patches import Polygon, Rectangle

    ray = _MM * layout["ray_m"]
    outer = _MM * layout["outside_diameter_m"] / 2
    bore = _MM * layout["inside_diameter_m"] / 2
    length = 0.3 * outer
    left, right = -1.5 * length - 0.55 * outer, ray[-1, 0] + 1.5 * length + 0.2 * outer
    for place, layer in enumerate(_layers(layout)):
        grey, hatch = _FILLS[place % len(_FILLS)]
        for side in (1, -1):
            thickness = layer["outer"] - layer["inner"]
            low = layer["inner"] if side == 1 else -layer["outer"]
            ax.add_patch(
                Rectangle(
                    (left, low),
                    right - left,
                    thickness,
                    facecolor=grey,
                    edgecolor=DARK,
                    hatch=hatch,
                    linewidth=0.0,
                )
            )
            for height in (layer["outer"], layer["inner"]):
                ax.plot((left, right), (side * height, side * height), color=INK, linewidth=0.9)
    ax.plot((left, right), (0, 0), color=DARK, linewidth=0.6, linestyle=(0, (12, 3, 2, 3)))

    tops = []
    for point, along in ((ray[0], 1), (ray[-1], -1)):
        up = 1 if point[1] > 0 else -1
        outline, inside = _wedge(point, layout["wedge_angle_rad"], length, along, up)
        ax.add_patch(Polygon(outline, facecolor="white", edgecolor=INK, linewidth=1.0))
        if inside is not None:
            ax.plot(inside[:, 0], inside[:, 1], color=INK, linewidth=1.4)
        tops.append(float(np.max(np.abs(outline[:, 1]))))
    ax.plot(ray[:, 0], ray[:, 1], color=INK, linewidth=1.6)
    ax.plot(ray[[0, -1], 0], ray[[0, -1], 1], "o", color=INK, markersize=3.2)

    # the angle in the liquid, at the point where the ray enters it
    crossed = len(layout["layers"])
    entry = ray[crossed]
    normal = 0.5 * bore
    ax.plot(
        (entry[0], entry[0]), (entry[1], entry[1] - 1.35 * normal), ":", color=INK, linewidth=0.8
    )
    arc = np.linspace(0.0, layout["liquid_angle_rad"], 40)
    ax.plot(
        entry[0] + normal * np.sin(arc), entry[1] - normal * np.cos(arc), color=INK, linewidth=0.8
    )
    ax.annotate(
        _degrees(layout["liquid_angle_rad"]),
        (entry[0], entry[1] - 1.1 * normal),
        xytext=(-3, 0),
        textcoords="offset points",
        ha="right",
        va="top",
        fontsize=8,
    )
    dimension(
        ax,
        (left + 0.12 * outer, -bore),
        (left + 0.12 * outer, bore),
        spoken()("figures.inside", diameter=f"{2 * bore:.2f} mm"),
        away=left + 0.12 * outer,
        level=False,
    )
    ax.annotate(
        "",
        (left + 0.88 * outer, -0.5 * bore),
        (left + 0.38 * outer, -0.5 * bore),
        arrowprops={"arrowstyle": "-|>", "color": INK, "lw": 1.6},
    )
    ax.text(
        left + 0.63 * outer,
        -0.56 * bore,
        spoken()("figures.flow"),
        fontsize=8,
        ha="center",
        va="top",
    )
    return left, right, max(tops)


def _cross_section(ax: Axes, layout: dict[str, Any], centre: float) -> None:
    """Draw the section across the pipe with the sensors, about an axis at `centre` in mm."""
    from matplotlib.patches import Circle, Rectangle

    outer = _MM * layout["outside_diameter_m"] / 2
    bore = _MM * layout["inside_diameter_m"] / 2
    offset = _MM * layout["chord_offset_m"]
    for place, layer in enumerate(_layers(layout)):
        grey, _ = _FILLS[place % len(_FILLS)]
        ring = Circle((centre, 0), layer["outer"], facecolor=grey, edgecolor=INK, linewidth=0.9)
        ax.add_patch(ring)
    ax.add_patch(Circle((centre, 0), bore, facecolor="white", edgecolor=INK, linewidth=0.9))
    cross = 1.12 * outer
    for x, y in (((centre - cross, centre + cross), (0, 0)), ((centre, centre), (-cross, cross))):
        ax.plot(x, y, color=DARK, linewidth=0.6, linestyle=(0, (12, 3, 2, 3)))
    half = np.sqrt(bore**2 - offset**2)
    at = centre + offset
    ax.plot((at, at), (-half, half), color=INK, linewidth=1.6)
    width, height = 0.3 * outer, 0.17 * outer
    foot = np.sqrt(outer**2 - min(abs(offset) + width / 2, outer) ** 2)
    sides = (1, -1) if layout["is_direct"] else (1,)
    for side in sides:
        low = foot if side == 1 else -foot - height
        ax.add_patch(
            Rectangle((at - width / 2, low), width, height, facecolor="white", edgecolor=INK)
        )
    say = spoken()
    if layout["is_direct"]:
        distance = f"{_MM * layout['half_circumference_m']:.1f} mm"
        said = f"{say('figures.opposite')}\n{say('figures.apart', distance=distance)}"
    else:
        said = f"{say('figures.one_line')}\n{say('figures.along_pipe')}"
    ax.text(centre, -1.36 * outer, said, fontsize=8, ha="center", va="top")


def _short(name: str, most: int = 40) -> str:
    """Return a name that leaves room for the drawing."""
    return name if len(name) <= most else f"{name[: most - 1]}\N{HORIZONTAL ELLIPSIS}"


def sound_path(evaluation: Evaluation, ax: Axes | None = None) -> Axes:
    """Draw the sound path to scale: along the pipe and across it, with dimensions in mm.

    Pipe, layers, ray and distances are to scale; of the wedges only the angle is.

    Parameters
    ----------
    evaluation
        The evaluation whose path is drawn.
    ax
        Axes to draw on; new ones if not given.

    Returns
    -------
    matplotlib.axes.Axes
        The axes drawn on.

    Raises
    ------
    InputError
        An evaluation whose sound path is not known.
    ModuleNotFoundError
        Without the package matplotlib.

    Examples
    --------
    >>> import flowdoubt as fd
    >>> site = fd.Site.load("notebooks/demo/site.toml")
    >>> evaluation = site.evaluate("notebooks/demo/readings.csv")
    >>> ax = fd.plots.sound_path(evaluation)
    >>> type(ax).__name__
    'Axes'
    """
    layout = _layout_of(evaluation)
    outer = _MM * layout["outside_diameter_m"] / 2
    ray = _MM * layout["ray_m"]
    span = float(ray[-1, 0]) + 5.6 * outer
    ax = axes_of(ax, 7.2, min(7.2 * 3.6 * outer / span + 0.7, 5.6))
    left, right, top = _axial_section(ax, layout)
    centre = right + 1.45 * outer
    _cross_section(ax, layout, centre)

    high = top + 0.22 * outer
    say = spoken()
    spacing = say("figures.spacing", spacing=f"{_MM * layout['spacing_m']:.1f} mm")
    dimension(ax, tuple(ray[0]), tuple(ray[-1]), spacing, away=high)
    dimension(
        ax,
        (centre - outer, 0),
        (centre + outer, 0),
        say("figures.outside", diameter=f"{2 * outer:.2f} mm"),
        away=high,
    )
    angles = [
        say(
            "figures.layer",
            name=Theirs(_short(say.word(layer["name"]))),
            thickness=f"{_MM * layer['thickness_m']:.2f} mm",
            speed=f"{layer['sound_speed_m_s']:.0f} m/s",
            angle=Theirs(_degrees(layer["angle_rad"])),
        )
        for layer in layout["layers"]
    ]
    if layout["wedge_angle_rad"] is not None:
        wedge = Theirs(_degrees(layout["wedge_angle_rad"]))
        angles.insert(0, say("figures.wedge", angle=wedge))
    speed = f"{layout['liquid_sound_speed_m_s']:.1f} m/s"
    angle = Theirs(_degrees(layout["liquid_angle_rad"]))
    angles.append(say("figures.liquid", speed=speed, angle=angle))
    low = -1.36 * outer
    traverses = layout["traverses"]
    way = say("figures.direct_path" if layout["is_direct"] else "figures.reflected_path")
    if traverses > 1:
        way = say("figures.traverses", way=Theirs(way), count=str(traverses))
    else:
        way = say("figures.traverse", way=Theirs(way))
    said = f"{way}\n{say('figures.angles')}\n"
    ax.text(left + 0.9 * outer, low, said + "\n".join(angles), fontsize=8, va="top")

    bar = _round_length(0.6 * outer)
    ax.plot((left, left + bar), (low, low), color=INK, linewidth=3.0, solid_capstyle="butt")
    ax.text(left, low - 0.08 * outer, say.number(f"{bar:g} mm"), fontsize=8, va="top")
    ax.set_xlim(left - 0.05 * outer, centre + 1.25 * outer)
    # the texts keep their size, so what they need grows with the scale
    line = 11 / 72 * span / 7.2
    ax.set_ylim(low - (len(angles) + 2) * line, high + 0.12 * outer)
    ax.set_aspect("equal")
    ax.set_axis_off()
    return ax


def _round_length(wanted: float) -> float:
    """Return the largest of 1, 2 and 5 times a power of ten that is not above `wanted`."""
    decade = 10.0 ** np.floor(np.log10(wanted))
    return float(decade * max(m for m in (1, 2, 5) if m * decade <= wanted))


def profile_path(evaluation: Evaluation, ax: Axes | None = None) -> Axes:
    """Draw the velocity profile of the site over the bore, with one traverse of the path.

    Heights and the angle of the path are to scale; velocities have a scale of their own.

    Parameters
    ----------
    evaluation
        The evaluation whose profile is drawn.
    ax
        Axes to draw on; new ones if not given.

    Returns
    -------
    matplotlib.axes.Axes
        The axes drawn on.

    Raises
    ------
    InputError
        An evaluation whose sound path is not known.
    ModuleNotFoundError
        Without the package matplotlib.

    Examples
    --------
    >>> import flowdoubt as fd
    >>> site = fd.Site.load("notebooks/demo/site.toml")
    >>> evaluation = site.evaluate("notebooks/demo/readings.csv")
    >>> ax = fd.plots.profile_path(evaluation)
    >>> type(ax).__name__
    'Axes'
    """
    layout = _layout_of(evaluation)
    steps = evaluation.steps
    ax = axes_of(ax, 5.6, 4.6)
    bore = _MM * layout["inside_diameter_m"] / 2
    offset = _MM * layout["chord_offset_m"]
    half = float(np.sqrt(bore**2 - offset**2))
    # laws of turbulent flow mean nothing at the wall itself
    height = np.linspace(-0.985, 0.985, 199) * half
    radius = np.hypot(height, offset) / bore
    velocity = evaluation.velocity_at(radius)
    mean, on_path = steps["mean_velocity_m_s"], steps["path_velocity_m_s"]
    largest = float(np.max(np.abs(velocity))) or 1.0
    scale = 1.5 * bore / largest
    sign = -1.0 if mean < 0 else 1.0

    say = spoken()
    ax.fill_betweenx(height, 0, scale * velocity, color="0.9")
    ax.plot(scale * velocity, height, color=INK, linewidth=1.6, label=say("figures.velocity"))
    for row in range(9, 199, 20):
        ax.annotate(
            "",
            (scale * velocity[row], height[row]),
            (0, height[row]),
            arrowprops={"arrowstyle": "-|>", "color": DARK, "lw": 0.8, "shrinkA": 0, "shrinkB": 0},
        )
    ax.axvline(0, color=INK, linewidth=0.8)
    for value, style, name in ((mean, "--", "over_the_area"), (on_path, ":", "on_the_path")):
        ax.plot(
            (scale * value, scale * value),
            (-half, half),
            style,
            color=INK,
            linewidth=1.3,
            label=say(f"figures.{name}", velocity=f"{value:.4g} m/s"),
        )
    run = 2 * half * np.tan(layout["liquid_angle_rad"])
    middle = 0.75 * bore * sign
    ax.plot(
        (middle - run / 2, middle + run / 2),
        (half, -half),
        color=INK,
        linewidth=2.4,
        linestyle=(0, (5, 1.5)),
        label=say("figures.path_from_normal", angle=Theirs(_degrees(layout["liquid_angle_rad"]))),
    )
    for side in (1, -1):
        ax.axhspan(side * half, side * 1.06 * half, facecolor=LIGHT, edgecolor=DARK, hatch="////")
    step = _round_length(largest / 3)
    ticks = sign * np.arange(0, largest + step / 2, step)
    ax.set_xticks(scale * ticks, [say.number(f"{tick:g}") for tick in ticks])
    reach = sorted((-0.12 * bore * sign, 1.75 * bore * sign))
    ax.set_xlim(reach[0], reach[1])
    ax.set_ylim(-1.06 * half, 1.06 * half)
    ax.set_aspect("equal")
    ax.set_xlabel(say("figures.velocity_axis"))
    ax.set_ylabel(say("figures.height_axis"))
    ax.legend(frameon=False, fontsize=8, loc="upper center", bbox_to_anchor=(0.5, -0.14), ncols=2)
    return ax


# Reynolds numbers between which the flow may be either, where nothing is known of the inlet
_TRANSITION = (1519.0, 4045.0)


def _factors_where_known(
    evaluation: Evaluation, reynolds: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return those Reynolds numbers that the laws cover, with factors and uncertainties."""
    try:
        return reynolds, *evaluation.profile_factor_at(reynolds)
    except RangeError:
        found = []
        for one in reynolds:
            with suppress(RangeError):
                k, u = evaluation.profile_factor_at(np.array([one]))
                found.append((float(one), float(k[0]), float(u[0])))
        known, factors, uncertainties = np.array(found).reshape(-1, 3).T
        return known, factors, uncertainties


def profile_factor(evaluation: Evaluation, ax: Axes | None = None) -> Axes:
    """Draw the profile factor of the site against the Reynolds number, with its uncertainty.

    The curve has the laws and the roughness of the site; the bar at the operating point is the
    standard uncertainty that the budget has for the law, where it has one.

    Parameters
    ----------
    evaluation
        The evaluation whose operating point is drawn.
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
    >>> ax = fd.plots.profile_factor(evaluation)
    >>> type(ax).__name__
    'Axes'
    """
    steps = evaluation.steps
    say = spoken()
    here, factor = abs(steps["reynolds_number"]), steps["profile_factor"]
    ax = axes_of(ax, 7.0, 3.6)
    low, high = min(1e3, here / 3), max(1e6, 10 * here)
    span = np.geomspace(max(low, 1.0), min(high, 1e8), 400)
    reynolds, k, law = _factors_where_known(evaluation, span)
    ax.fill_between(
        reynolds,
        k * (1 - 2 * law),
        k * (1 + 2 * law),
        color="0.85",
        label=say("figures.law"),
    )
    ax.plot(reynolds, k, color=INK, linewidth=1.8, label=say("figures.factor_of_site"))
    ax.axvspan(*_TRANSITION, facecolor="none", edgecolor="0.6", hatch="....", linewidth=0.0)
    ax.annotate(
        say("figures.transition"),
        (float(np.sqrt(np.prod(_TRANSITION))), 1.01),
        xycoords=("data", "axes fraction"),
        fontsize=8,
        ha="center",
        va="bottom",
    )
    columns = evaluation.budget.columns()
    names = list(columns["input"])
    u = None
    if "profile.law_factor" in names:
        u = float(columns["standard_uncertainty"][names.index("profile.law_factor")]) * factor
    ax.errorbar(
        [here],
        [factor],
        yerr=None if u is None else [u],
        fmt="D",
        color=INK,
        markerfacecolor="white",
        markersize=6,
        capsize=4,
        label=say("figures.operating_point", reynolds=grouped(here), factor=f"{factor:.4f}"),
    )
    ax.set_xscale("log")
    ax.set_xlim(span[0], span[-1])
    ax.set_xlabel(say("figures.reynolds"))
    ax.set_ylabel(f"{say('figures.profile_factor')} $k$")
    ax.legend(frameon=False, fontsize=8, loc="lower right")
    plain_frame(ax)
    return ax
