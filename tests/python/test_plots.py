"""Figures: what is drawn is what was computed, and every axis says its unit."""

from pathlib import Path

import matplotlib
import numpy as np
import pytest
from matplotlib.figure import Figure

import flowdoubt as fd
from flowdoubt import plots
from flowdoubt.plots.drawing import apart_from_pyplot

matplotlib.use("agg")

DEMO = Path(__file__).parents[2] / "notebooks" / "demo"
LINED = """
[site]
name = "lined main"
[liquid]
kind = "stated"
sound_speed = "1480 m/s"
kinematic_viscosity = "1.0 mm2/s"
[pipe]
outside_diameter = "219.1 mm"
wall = "8.18 mm"
wall_sound_speed = "3230 m/s"
liner = "5 mm"
liner_sound_speed = "2500 m/s"
[path]
basis = "timed"
traverses = TRAVERSES
wedge_angle = "38 deg"
wedge_sound_speed = "2500 m/s"
couplant = "0.1 mm"
couplant_sound_speed = "1700 m/s"
chord_offset = "OFFSET mm"
"""


@pytest.fixture(scope="module")
def evaluation():
    return fd.Site.load(DEMO / "site.toml").evaluate(DEMO / "readings.csv")


@pytest.fixture(scope="module")
def verification():
    return fd.Site.load(DEMO / "site.toml").verify(DEMO / "verification.toml")


def lined(traverses, offset=0.0):
    text = LINED.replace("TRAVERSES", str(traverses)).replace("OFFSET", str(offset))
    time = 145e-6 * traverses
    readings = {"transit_time_s": [time, time], "time_difference_ns": [60.0, 62.0]}
    return fd.Site.from_toml(text).evaluate(readings)


def texts(ax):
    return [text.get_text() for text in ax.texts]


def line_through(ax, x, y):
    """Whether a line of exactly these corners is drawn."""
    for line in ax.lines:
        drawn = np.column_stack(line.get_data())
        if drawn.shape == (len(x), 2) and np.allclose(drawn, np.column_stack([x, y]), atol=1e-9):
            return True
    return False


@pytest.mark.parametrize("traverses", [1, 2, 3, 4])
@pytest.mark.parametrize("offset", [0.0, 20.0])
def test_the_ray_obeys_snell_and_takes_the_time_of_the_model(traverses, offset):
    # plane trigonometry and Snell's law, with the numbers of the site file alone
    evaluation = lined(traverses, offset)
    layout = evaluation.path_layout
    ray = layout["ray_m"]
    slowness = np.sin(np.radians(38.0)) / 2500.0
    thickness, speed = [1e-4, 8.18e-3, 5e-3], [1700.0, 3230.0, 2500.0]
    bore = 0.2191 - 2 * (8.18e-3 + 5e-3)
    chord = 2 * np.sqrt((bore / 2) ** 2 - (offset * 1e-3) ** 2)
    depths = np.array([*thickness, *[chord] * traverses, *thickness[::-1]])
    speeds = np.array([*speed, *[1480.0] * traverses, *speed[::-1]])
    sine = slowness * speeds
    runs = depths * sine / np.sqrt(1 - sine**2)
    np.testing.assert_allclose(ray[:, 0], [0.0, *np.cumsum(runs)], rtol=1e-12)
    np.testing.assert_allclose(np.abs(np.diff(ray[:, 1])), depths, rtol=1e-12)
    assert layout["spacing_m"] == pytest.approx(np.sum(runs), rel=1e-12)
    # it ends on the other side where the path is direct
    assert layout["is_direct"] == (traverses % 2 == 1)
    assert np.sign(ray[-1, 1]) == (-1 if traverses % 2 else 1)
    assert abs(ray[-1, 1]) == pytest.approx(ray[0, 1], rel=1e-12)
    lengths = np.hypot(*np.diff(ray, axis=0).T)
    in_liquid = np.sum(lengths[3:-3]) / 1480.0
    assert in_liquid == pytest.approx(evaluation.steps["expected_time_in_liquid_s"], rel=1e-12)
    assert layout["half_circumference_m"] == pytest.approx(np.pi * 0.2191 / 2, rel=1e-15)


@pytest.mark.parametrize("traverses", [1, 2, 3])
def test_the_sound_path_is_drawn_to_scale_in_millimetres(traverses):
    evaluation = lined(traverses)
    layout = evaluation.path_layout
    ax = plots.sound_path(evaluation)
    ray = 1e3 * layout["ray_m"]
    assert ax.get_aspect() == 1
    assert line_through(ax, ray[:, 0], ray[:, 1])
    said = texts(ax)
    assert f"spacing {1e3 * layout['spacing_m']:.1f} mm" in said
    assert "outside 219.10 mm" in said
    assert "inside 192.74 mm" in said
    assert f"{np.degrees(layout['liquid_angle_rad']):.2f}\N{DEGREE SIGN}" in said
    (angles,) = (text for text in said if "angles from the normal" in text)
    for words in ("couplant 0.10 mm", "wall 8.18 mm, 3230 m/s", "liner 5.00 mm, 2500 m/s"):
        assert words in angles
    # the bore is drawn where it is
    walls = [line for line in ax.lines if np.allclose(line.get_ydata(), 96.37)]
    assert walls
    sides = [text for text in said if "sensors" in text]
    assert ("344.2 mm round the pipe" in sides[0]) == (traverses % 2 == 1)
    # the scale bar is as long as it says
    (bar,) = (line for line in ax.lines if line.get_linewidth() == 3.0)
    assert f"{np.ptp(bar.get_xdata()):g} mm" in said


def test_a_path_that_is_not_known_is_not_drawn(evaluation):
    indicated = LINED.replace('"timed"', '"indicated"').replace("TRAVERSES", "2")
    drop = ("wedge", "couplant", "chord")
    indicated = "\n".join(row for row in indicated.splitlines() if not row.startswith(drop))
    indicated += "\n[meter.programmed]\nprofile_factor = 1.0\n"
    unknown = fd.Site.from_toml(indicated).evaluate({"velocity_m_s": [1.0, 1.01]})
    assert unknown.path_layout is None
    for figure in (plots.sound_path, plots.profile_path):
        with pytest.raises(fd.InputError, match="wedge_angle"):
            figure(unknown)
    assert plots.profile_factor(unknown).get_xlabel() == "Reynolds number"


def test_the_velocity_on_the_figure_has_the_mean_of_the_flow(evaluation):
    # midpoint rule over the area, and over the path, against steps and profile factor
    radius = (np.arange(20_000) + 0.5) / 20_000
    velocity = evaluation.velocity_at(radius)
    steps = evaluation.steps
    area_mean = 2 * np.mean(velocity * radius)
    assert area_mean == pytest.approx(steps["mean_velocity_m_s"], rel=5e-3)
    assert area_mean / np.mean(velocity) == pytest.approx(steps["profile_factor"], rel=5e-3)
    with pytest.raises(fd.FlowdoubtError, match="radius"):
        evaluation.velocity_at(np.array([1.5]))


def test_the_profile_and_the_path_share_their_heights(evaluation):
    ax = plots.profile_path(evaluation)
    layout, steps = evaluation.path_layout, evaluation.steps
    radius = 1e3 * layout["inside_diameter_m"] / 2
    profile, *_ = ax.lines
    x, y = profile.get_data()
    scale = x / evaluation.velocity_at(np.abs(y) / radius)
    np.testing.assert_allclose(scale, scale[0], rtol=1e-9)
    # the ticks tell velocities in the same scale
    ticks = np.array([float(label.get_text()) for label in ax.get_xticklabels()])
    np.testing.assert_allclose(ax.get_xticks(), scale[0] * ticks, atol=1e-9)
    path = ax.lines[-1].get_xydata()
    run, rise = np.abs(path[1] - path[0])
    assert np.arctan2(run, rise) == pytest.approx(layout["liquid_angle_rad"])
    assert f"{steps['mean_velocity_m_s']:.4g} m/s" in str(ax.get_legend_handles_labels()[1])
    assert ax.get_xlabel() == "velocity / (m/s)"
    assert ax.get_ylabel() == "height over the axis / mm"


def test_the_profile_factor_is_that_of_the_law_at_every_reynolds_number(evaluation):
    ax = plots.profile_factor(evaluation)
    steps = evaluation.steps
    curve = max(ax.lines, key=lambda line: len(line.get_xdata()))
    reynolds, k = curve.get_data()
    roughness = steps["relative_roughness"]
    np.testing.assert_array_equal(k, fd.profile.correction_factor(reynolds, roughness))
    (bar,) = ax.containers
    assert bar[0].get_xdata() == pytest.approx([steps["reynolds_number"]])
    assert bar[0].get_ydata() == pytest.approx([steps["profile_factor"]])
    budget = evaluation.budget.to_pandas()
    u = budget.loc[("velocity profile", "profile.law_factor"), "standard_uncertainty"]
    ((low, high),) = (segment[:, 1] for segment in bar[2][0].get_segments())
    assert (high - low) / 2 == pytest.approx(u * steps["profile_factor"])
    with pytest.raises(fd.FlowdoubtError, match="Reynolds number"):
        evaluation.profile_factor_at(np.array([1e12]))


def test_the_chart_of_a_verification_shows_points_runs_and_limits(verification):
    ax = plots.verification(verification)
    assert ax.get_xlabel() == "volume flow by the reference / (m\N{SUPERSCRIPT THREE}/h)"
    assert ax.get_ylabel() == "error as installed / %"
    by_name = {bars.get_label(): bars for bars in ax.containers}
    points = verification.points
    drawn = by_name["flow points"]
    np.testing.assert_allclose(drawn[0].get_ydata(), [100 * p["error"] for p in points])
    np.testing.assert_allclose(drawn[0].get_xdata(), [p["flow_m3_h"] for p in points])
    for segment, point in zip(drawn[2][0].get_segments(), points, strict=True):
        assert np.ptp(segment[:, 1]) == pytest.approx(200 * point["error_expanded"])
    for placement in "AB":
        own = [run for run in verification.runs if run["placement"] == placement]
        bars = by_name[f"runs, placement {placement}"]
        np.testing.assert_allclose(bars[0].get_ydata(), [100 * run["error"] for run in own])
    markers = [bars[0].get_marker() for bars in ax.containers]
    assert len(set(markers)) == len(markers)
    limits = {line.get_label(): line for line in ax.lines}
    np.testing.assert_allclose(np.abs(limits["permissible error"].get_ydata()), 3.0)
    # the first of the two has the name: the lower one
    acceptance = limits["acceptance limit"].get_ydata()[1:-1]
    np.testing.assert_allclose(acceptance, [100 * p["acceptance_lower"] for p in points])
    flow = np.linspace(*verification.line["range_m3_h"], 101)
    error, _ = verification.line_at(flow)
    np.testing.assert_allclose(limits["line through the points"].get_ydata(), 100 * error)


def test_contributions_and_distribution_tell_the_unit(evaluation):
    ax = plots.contributions(evaluation.budget, most=3)
    unit = "(m\N{SUPERSCRIPT THREE}/h)"
    assert ax.get_xlabel().endswith(unit)
    contribution = np.sort(np.abs(evaluation.budget.columns()["contribution"]))[::-1]
    widths = [bar.get_width() for bar in ax.patches]
    rest = np.sqrt(np.sum(contribution[3:] ** 2))
    u = evaluation.budget.result()[1]
    np.testing.assert_allclose(widths, [*contribution[:3], rest, u])
    ax = plots.distribution(evaluation, evaluation.monte_carlo(trials=5000))
    assert ax.get_xlabel() == f"volume flow / {unit}"


def test_what_contributes_nothing_has_no_bar():
    uncertainties = {"a": 1.0, "b": 0.5, "c": 1e-4, "d": 1e-9, "e": 0.0}
    inputs = {name: fd.normal(1.0, u) for name, u in uncertainties.items()}
    y = fd.propagate(lambda x: x["a"] + x["b"] + x["c"] + x["d"] + x["e"], inputs)
    ax = plots.contributions(y.budget)
    labels = [text.get_text() for text in ax.get_yticklabels()]
    assert [label.split()[0] for label in labels[:2]] == ["a", "b"]
    assert labels[2].split()[1] == "others"
    assert len(labels) == 4
    assert not any(text.get_text().startswith("0.0 ") for text in ax.texts)


def test_no_line_goes_through_the_words_of_a_dimension(evaluation):
    ax = plots.sound_path(evaluation)
    words = [text for text in ax.texts if text.get_text().startswith(("inside", "outside"))]
    assert len(words) == 2
    for text in words:
        assert text.get_bbox_patch().get_facecolor() == (1.0, 1.0, 1.0, 1.0)
        assert text.get_zorder() > max(line.get_zorder() for line in ax.lines)


def test_runs_are_seen_over_the_bars_of_their_point():
    result = fd.Site.load(DEMO / "site.toml").verify(DEMO / "verification.toml")
    ax = plots.verification(result)
    drawn = {str(own.get_label()): own.lines[0] for own in ax.containers}
    runs = [line for label, line in drawn.items() if label.startswith("runs")]
    assert runs
    assert all(line.get_zorder() > drawn["flow points"].get_zorder() for line in runs)


def test_words_of_a_user_are_no_mathematics_in_figures():
    text = (DEMO / "verification.toml").read_text()
    hostile = text.replace('placement = "A"', 'placement = "$\\\\frac{$"')
    verification = fd.Verification.from_toml(hostile, DEMO / "verification.toml")
    ax = plots.verification(fd.Site.load(DEMO / "site.toml").verify(verification))
    ax.figure.draw_without_rendering()


def test_figures_draw_on_the_axes_they_are_given(evaluation):
    import matplotlib.pyplot as plt

    plt.close("all")
    for figure in (plots.sound_path, plots.profile_path, plots.profile_factor):
        ax = Figure().subplots()
        assert figure(evaluation, ax) is ax
        assert not plt.get_fignums()
        with apart_from_pyplot():
            figure(evaluation)
        assert not plt.get_fignums()
        figure(evaluation)
        assert len(plt.get_fignums()) == 1
        plt.close("all")


@pytest.mark.parametrize("difference", [-60.0, 0.0, 0.02])
def test_reverse_no_and_laminar_flow_have_their_figures(difference):
    text = LINED.replace("TRAVERSES", "2").replace("OFFSET", "0")
    readings = {"transit_time_s": [290e-6, 290e-6], "time_difference_ns": [difference] * 2}
    evaluation = fd.Site.from_toml(text).evaluate(readings)
    ax = plots.profile_path(evaluation)
    low, high = ax.get_xlim()
    drawn = ax.lines[0].get_xdata()
    assert low <= np.min(drawn) and np.max(drawn) <= high
    assert np.sign(np.sum(drawn)) == np.sign(difference)
    plots.profile_factor(evaluation).figure.draw_without_rendering()


def test_the_figure_ends_where_the_friction_law_does():
    text = LINED.replace("TRAVERSES", "2").replace("OFFSET", "0")
    text += '\n[profile]\nlaw = "logarithmic"\nfriction = "blasius"\n'
    readings = {"transit_time_s": [290e-6, 290e-6], "time_difference_ns": [60.0, 61.0]}
    evaluation = fd.Site.from_toml(text).evaluate(readings)
    ax = plots.profile_factor(evaluation)
    assert ax.containers[0][0].get_xdata()[0] == pytest.approx(evaluation.steps["reynolds_number"])
    curve = max(ax.lines, key=lambda line: len(line.get_xdata()))
    # Blasius's law ends at a Reynolds number of 1e5
    assert 9e4 < curve.get_xdata().max() <= 1e5
