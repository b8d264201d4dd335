"""Planning: expected uncertainty, alternatives, targets, the command line and the figure."""

import json

import numpy as np
import pandas as pd
import polars as pl
import pytest
from scipy.optimize import minimize
from tables import against

import flowdoubt as fd
import flowdoubt.plots
from flowdoubt import cli

FACTOR = (
    'factor = { value = "1.000", half_width = "1.4 %", shape = "triangular", '
    'evidence = "14 diameters downstream of one bend, judgement" }'
)
BEND = 'fitting = "single_bend"\nstraight_run = "8 D"\norientation = "90 deg"'


@pytest.fixture(scope="module")
def site(plain_file):
    return fd.Site.load(plain_file)


@pytest.fixture(scope="module")
def plan(site):
    return site.plan(
        ["100 m3/h", "1000 m3/h", "300 m3/s"], ["8 degC", "288.15 K"], traverses=[1, 2]
    )


def test_points_are_rows_in_the_unit_of_the_site(plan):
    assert len(plan) == len(plan.points) == 12
    first, second, third = plan.points[:3]
    assert first["volume_flow_m3_h"] == pytest.approx(100)
    assert second["temperature_K"] == 281.15
    assert plan.points[3]["temperature_K"] == 288.15
    assert first["alternative"] == "1 traverse (direct)"
    assert plan.points[6]["traverses"] == 2
    assert plan.points[6]["path"] == "reflected"
    assert second["feasible"] is True
    assert third["feasible"] is False
    assert "Reynolds number" in third["reason"]
    assert third["velocity_m_s"] is None
    assert len({tuple(point) for point in plan.points}) == 1


def test_a_point_is_its_budget(plan):
    point = plan.points[1]
    budget = plan.budget(1)
    assert budget.estimate == pytest.approx(1000, rel=1e-13)
    expanded = budget.expanded(plan.coverage_probability)
    assert point["expanded_uncertainty_m3_h"] == expanded.expanded_uncertainty
    assert point["coverage_factor"] == expanded.coverage_factor
    relative = expanded.expanded_uncertainty / point["volume_flow_m3_h"]
    assert point["relative_expanded_uncertainty"] == pytest.approx(relative, rel=1e-14)
    for name, share in budget.components().items():
        assert point[f"share_{name.replace(' ', '_').replace('-', '_')}"] == share
    own = [row for row in plan.contributions if row["point"] == 1]
    assert sum(row["share"] for row in own) == pytest.approx(1, rel=1e-12)
    with pytest.raises(fd.RangeError, match="Reynolds number"):
        plan.budget(2)
    with pytest.raises(IndexError, match="0 to 11"):
        plan.budget(12)


def test_frames_have_the_points(plan):
    pandas, polars = plan.to_pandas(), plan.to_polars()
    assert isinstance(pandas, pd.DataFrame)
    assert isinstance(polars, pl.DataFrame)
    assert list(pandas.columns) == polars.columns == list(plan.points[0])
    assert pandas["feasible"].sum() == 8
    uncertainties = polars["relative_expanded_uncertainty"]
    assert uncertainties.null_count() == 4
    assert polars.schema["relative_expanded_uncertainty"] == pl.Float64


def test_a_rehearsal_evaluates_to_the_plan(plan):
    columns = plan.rehearsal(1)
    assert set(columns) == {"time_difference_s", "transit_time_s", "temperature_K"}
    direct = fd.Site.from_toml(plan.site_text("1 traverse (direct)"))
    evaluation = direct.evaluate(columns)
    assert evaluation.estimate == pytest.approx(1000, rel=1e-12)
    planned = plan.budget(1)
    assert evaluation.standard_uncertainty == pytest.approx(planned.standard_uncertainty, rel=1e-9)
    assert evaluation.effective_dof == pytest.approx(planned.effective_dof, rel=1e-6)


def test_readings_that_scatter_as_planned_come_to_what_was_planned(site):
    """Random readings around the planned means: the mean of many evaluations is the plan."""
    scatter = {"time_difference": "6 ns", "transit_time": "20 ns", "temperature": "0.2 K"}
    plan = site.plan("300 m3/h", "8 degC", scatter=scatter, readings=200)
    point, budget = plan.points[0], plan.budget(0)
    generator = np.random.default_rng(20261125)
    flows, variances = [], []
    for _ in range(60):
        evaluation = site.evaluate(
            {
                "time_difference_s": generator.normal(point["time_difference_s"], 6e-9, 200),
                "transit_time_s": generator.normal(point["transit_time_s"], 20e-9, 200),
                "temperature_K": generator.normal(281.15, 0.2, 200),
            }
        )
        flows.append(evaluation.value("SI"))
        variances.append(evaluation.result("SI")[1] ** 2)
    # that readings are independent has to be found, and by chance some seem not to be
    assert 1.0 < np.mean(variances) / budget.result("SI")[1] ** 2 < 1.05
    # the flows scatter by what the three means contribute
    columns = budget.columns(si=True)
    own = dict(zip(columns["input"], columns["contribution"], strict=True))
    names = ("readings.time_difference", "readings.transit_time", "liquid.temperature")
    expected = np.sqrt(sum(own[name] ** 2 for name in names))
    assert np.std(flows, ddof=1) == pytest.approx(expected, rel=0.25)
    assert np.mean(flows) == pytest.approx(300 / 3600, abs=4 * expected / np.sqrt(60))


def test_a_trial_run_tells_the_scatter(site):
    readings = pd.read_csv("notebooks/demo/readings.csv")
    for given in ("notebooks/demo/readings.csv", readings):
        plan = site.plan("1000 m3/h", "8 degC", scatter=given)
        assert plan.readings == 360
        columns = plan.budget(0).columns(si=True)
        u = dict(zip(columns["input"], columns["standard_uncertainty"], strict=True))
        in_time = fd.statistics.autocorrelated(readings["time_difference_ns"])
        by_hand = 1e-9 * in_time.standard_uncertainty
        assert u["readings.time_difference"] == pytest.approx(by_hand, rel=1e-10)
    assert site.plan("1000 m3/h", "8 degC", scatter=readings, readings=36).readings == 36


def test_fittings_are_compared(plain_text):
    site = fd.Site.from_toml(plain_text.replace(FACTOR, BEND))
    plan = site.plan(
        "1000 m3/h",
        "8 degC",
        straight_runs=["5 D", "20 D"],
        orientations=["0 deg", "90 deg"],
        planes=[1, 2],
        traverses=1,
    )
    assert len(plan) == 8
    table = plan.to_pandas()
    near = table[table["straight_run_D"] == 5]
    far = table[table["straight_run_D"] == 20]
    assert (near["share_installation"].to_numpy() > far["share_installation"].to_numpy()).all()
    assert set(table["orientation_deg"].round(9)) == {0, 90}
    two_planes = table["alternative"].str.contains("2 planes")
    assert two_planes.sum() == 4


def variance_of(target, budget, correlation):
    """Return the inputs of a target as columns: fixed variance, and the matrix of the rest."""
    columns = budget.columns()
    contribution = dict(zip(columns["input"], columns["contribution"], strict=True))
    rows = target.improvements
    vector = np.array([contribution[row["input"]] for row in rows])
    names = [row["input"] for row in rows]
    r = np.eye(len(rows))
    for (a, b), coefficient in correlation.items():
        i, j = names.index(a), names.index(b)
        r[i, j] = r[j, i] = coefficient
    return names, r * np.outer(vector, vector)


@pytest.mark.parametrize(
    ("wanted", "costs", "lowest"),
    [
        ("1.6 %", None, None),
        (
            "1.55 %",
            {
                "meter.calibration_factor": 5.0,
                "installation.factor": 2.0,
                "path.wedge_angle": 1.0,
                "meter.cable_delay": 0.3,
                "meter.electronics_delay": 0.2,
                "readings.time_difference": 0.05,
            },
            {"path.wedge_angle": "0.07 deg", "meter.calibration_factor": "0.30 %"},
        ),
    ],
)
def test_the_least_effort_is_that_of_a_general_solver(site, wanted, costs, lowest):
    """Against SLSQP of scipy at the coverage factor of the solution."""
    plan = site.plan("1000 m3/h", "8 degC", target=wanted, costs=costs, lowest=lowest)
    target = plan.targets[0]
    assert target
    pair = ("meter.cable_delay", "meter.electronics_delay")
    names, matrix = variance_of(target, plan.budget(0), {pair: 0.5})
    rows = target.improvements
    free = [i for i, row in enumerate(rows) if not row["held"]]
    cost = np.array([rows[i]["cost"] for i in free])
    bound = [(max(rows[i]["lowest_fraction"], 1e-3), 1.0) for i in free]
    most = (target.wanted / target.improved.coverage_factor) ** 2
    scale = most

    def variance(few):
        s = np.ones(len(rows))
        s[free] = few
        return s @ matrix @ s

    together = [free.index(names.index(name)) for name in pair]
    found = minimize(
        lambda few: np.sum(cost * (1 / few - 1)),
        np.full(len(free), 0.8),
        method="SLSQP",
        bounds=bound,
        constraints=[
            {"type": "ineq", "fun": lambda few: (most - variance(few)) / scale},
            {"type": "eq", "fun": lambda few: few[together[0]] - few[together[1]]},
        ],
        options={"ftol": 1e-12, "maxiter": 1000},
    )
    assert found.success
    own = np.array([rows[i]["least_effort_fraction"] for i in free])
    assert target.effort == pytest.approx(np.sum(cost * (1 / own - 1)), rel=1e-12)
    what, source = "least effort for a target", "SLSQP of scipy"
    against(what, source, target.effort, found.fun, rtol=1e-5, noise=1e-5)
    assert own == pytest.approx(found.x, abs=5e-3)
    # the budget made anew meets the target with its own coverage factor
    assert target.improved.expanded_uncertainty <= target.wanted * (1 + 1e-12)
    assert target.improved.expanded_uncertainty == pytest.approx(target.wanted, rel=1e-3)
    assert target.budget.standard_uncertainty**2 == pytest.approx(variance(own), rel=1e-9)


def test_a_target_out_of_reach_says_what_is_left(site):
    plan = site.plan("1000 m3/h", "8 degC", target="0.5 %", costs={"meter.calibration_factor": 1.0})
    target = plan.targets[0]
    assert not target
    assert plan.reachable is False
    assert target.effort is None
    assert target.budget is None
    assert "cannot be reached" in target.headline
    columns = plan.budget(0).columns()
    rest = [
        c
        for name, c in zip(columns["input"], columns["contribution"], strict=True)
        if name not in ("meter.calibration_factor", *CORRELATED)
    ]
    a, b = (
        c
        for name, c in zip(columns["input"], columns["contribution"], strict=True)
        if name in CORRELATED
    )
    left = np.sqrt(np.sum(np.square(rest)) + a * a + b * b + 2 * 0.5 * a * b)
    lowest = target.lowest.expanded_uncertainty / target.lowest.coverage_factor
    assert lowest == pytest.approx(left, rel=1e-12)


CORRELATED = ("meter.cable_delay", "meter.electronics_delay")


def test_a_measurement_has_targets_as_well(demo):
    target = demo.target("1.7 %", costs={"installation.factor": 1.0})
    assert target.reachable
    expanded = demo.expanded().expanded_uncertainty
    assert target.expanded.expanded_uncertainty == pytest.approx(expanded, rel=1e-14)
    frame = target.to_pandas()
    assert frame.loc["installation.factor", "least_effort_fraction"] < 1
    assert frame.loc["pipe.wall", "held"] == "no cost given"
    assert target.to_polars().height == len(frame)
    assert "installation.factor" in str(target)
    assert target.headline in repr(target)
    assert demo.target("3 %").met


def test_displays_escape_and_keep_the_cautions(demo_text):
    name = 'name = "Harrowmere district cooling, plant 2, supply main"'
    text = demo_text.replace(name, 'name = "<script>x</script>"')
    plan = fd.Site.from_toml(text).plan(["1000 m3/h", "300 m3/s"], "8 degC", target="1.6 %")
    html = plan._repr_html_()
    assert "<script>" not in html
    assert "&lt;script&gt;" in html
    assert "licensed practice" in html
    assert "1000 m3/h" in html
    # at its point, and why below
    assert html.count(">no measurement<") == 2
    assert html.count("Reynolds number: found") == 1
    table = plan.targets[0]._repr_html_()
    assert "meter.calibration_factor" in table
    assert plan.targets[1] is None
    words = str(plan)
    assert "nothing was" in words.replace("\n", " ")
    assert "feasible window" in words


def test_windows_bound_the_feasible_flows(site):
    plan = site.plan("1000 m3/h", ["8 degC", "160 degC", "180 degC"])
    cold, hot, boiling = plan.windows
    assert cold["reason"] == ""
    assert cold["lowest_velocity_m_s"] == pytest.approx(0.001)
    assert cold["between"] == ""
    # 7.2 bar: water boils at 439.24 K (package iapws)
    assert cold["highest_temperature_K"] == pytest.approx(439.24, abs=0.05)
    assert "boil" in cold["hotter"]
    assert hot["always_warned"] == "hot-pipe, wedge-temperature, survey-temperature"
    assert hot["highest_velocity_without_warning_m_s"] < cold["highest_velocity_m_s"]
    assert "boil" in boiling["reason"]
    assert boiling["highest_velocity_m_s"] is None


@pytest.mark.parametrize(
    ("arguments", "kind", "words"),
    [
        ({"flows": "1000"}, fd.UnitError, "flows"),
        ({"flows": "10 bar"}, fd.UnitError, "volume flow"),
        ({"flows": []}, fd.InputError, "flows: missing"),
        ({"flows": [None]}, fd.InputError, r"flows\[0\]"),
        ({"flows": np.array([0.1, 0.2])}, fd.InputError, r"flows\[0\].*no unit"),
        ({"temperatures": None}, fd.InputError, "temperatures: missing"),
        ({"traverses": 0}, fd.RangeError, "path.traverses"),
        ({"traverses": -1}, fd.RangeError, "traverses"),
        ({"traverses": 1.5}, fd.InputError, "whole numbers"),
        ({"bases": "guessed"}, fd.InputError, "bases"),
        ({"straight_runs": "8 D"}, fd.InputError, "installation.fitting"),
        ({"planes": 2}, fd.InputError, "installation.fitting"),
        ({"orientations": 90}, fd.InputError, "text"),
        ({"scatter": {"time": "2 ns"}}, fd.InputError, "time_difference"),
        ({"scatter": {"time_difference": "2 m"}}, fd.UnitError, "scatter.time_difference"),
        ({"scatter": "nowhere.csv"}, fd.InputError, "nowhere.csv"),
        ({"readings": 1}, fd.InputError, "2 or more"),
        ({"target": "1 bar"}, fd.UnitError, "target"),
        ({"target": "0 %"}, fd.RangeError, "target"),
        ({"target": 0.01}, fd.InputError, "target.*no unit"),
        ({"target": "1 %", "costs": {"pipe.wal": 1}}, fd.InputError, "pipe.wall"),
        ({"target": "1 %", "costs": {"pipe.wall": "dear"}}, fd.InputError, "costs.pipe.wall"),
        ({"target": "1 %", "costs": {"meter.cable_delay": 1}}, fd.InputError, "correlated"),
        ({"target": "1 %", "lowest": {"pipe.wall": 0.1}}, fd.InputError, "lowest.pipe.wall"),
        ({"target": "1 %", "lowest": {"pipe.wall": "1 s"}}, fd.UnitError, "lowest.pipe.wall"),
        ({"costs": {"pipe.wall": 1}}, fd.InputError, "target"),
    ],
)
def test_bad_input_is_refused_in_words(site, arguments, kind, words):
    usual = {"flows": "1000 m3/h", "temperatures": "8 degC"}
    with pytest.raises(kind, match=words):
        site.plan(**(usual | arguments))


@pytest.fixture
def command(plain_file):
    return ["plan", plain_file, "--flows", "200 m3/h", "1000 m3/h", "--temperatures", "8 degC"]


def test_the_command_line_says_what_the_library_says(capsys, site, command):
    options = ["--traverses", "1", "2", "--scatter", "time_difference=2 ns", "time_difference=1 %"]
    assert cli.main([*command, *options, "--readings", "20"]) == 0
    printed = capsys.readouterr().out
    plan = site.plan(
        ["200 m3/h", "1000 m3/h"],
        "8 degC",
        traverses=[1, 2],
        scatter={"time_difference": ["2 ns", "1 %"]},
        readings=20,
    )
    assert str(plan) in printed
    assert "licensed practice" in printed
    assert cli.main([*command, *options, "--readings", "20", "--json"]) == 0
    assert json.loads(capsys.readouterr().out) == json.loads(plan.to_json())


def test_exit_status_tells_whether_the_target_can_be_reached(capsys, command):
    assert cli.main([*command, "--target", "1.6 %"]) == 0
    assert "least effort" in capsys.readouterr().out
    assert cli.main([*command, "--target", "1 %", "--costs", "pipe.wall=1"]) == 1
    assert "cannot be reached" in capsys.readouterr().out
    assert cli.main([*command, "--target", "1 %", "--costs", "pipe.wal=1"]) == 2
    printed = capsys.readouterr()
    assert printed.out == ""
    assert "pipe.wall" in printed.err
    with pytest.raises(SystemExit) as caught:
        cli.main([*command, "--costs", "pipe.wall"])
    assert caught.value.code == 2
    trial = ["--trial-run", "notebooks/demo/readings.csv", "--json"]
    assert cli.main([*command, *trial]) == 0
    assert json.loads(capsys.readouterr().out)["readings"] == 360


def test_the_figure_stacks_the_components_up_to_the_uncertainty(site):
    import matplotlib

    matplotlib.use("Agg")
    from matplotlib import pyplot as plt

    flows = [*(f"{flow} m3/s" for flow in np.geomspace(0.01, 0.5, 12)), "300 m3/s"]
    plan = site.plan(flows, "8 degC", traverses=[2, 1])
    ax = fd.plots.uncertainty_against_flow(plan, most=3)
    tops = [
        float(np.nanmax(path.vertices[:, 1]))
        for band in ax.collections
        for path in band.get_paths()
    ]
    uncertainties = [p["relative_expanded_uncertainty"] for p in plan.points[:12]]
    assert max(tops) == pytest.approx(100 * max(uncertainties), rel=1e-9)
    assert "m\N{SUPERSCRIPT THREE}/h" in ax.get_xlabel()
    words = [text.get_text() for text in ax.get_legend().get_texts()]
    for label in ["2 traverses (reflected)", "1 traverse (direct)", "no measurement possible"]:
        assert label in words
    assert sum("other components" in word for word in words) == 1
    with pytest.raises(fd.InputError, match="alternative"):
        fd.plots.uncertainty_against_flow(plan, alternative="3 traverses")
    with pytest.raises(fd.InputError, match="two"):
        fd.plots.uncertainty_against_flow(site.plan("0.1 m3/s", "8 degC"))
    with pytest.raises(fd.InputError, match="nothing can be measured"):
        fd.plots.uncertainty_against_flow(site.plan(["0.1 m3/s", "0.2 m3/s"], "180 degC"))
    plt.close("all")


def legend(ax):
    return [text.get_text() for text in ax.get_legend().get_texts()]


def test_the_figure_has_its_target_and_says_who_reaches_it(site):
    import matplotlib

    matplotlib.use("Agg")
    from matplotlib import pyplot as plt

    flows = ["100 m3/h", "300 m3/h", "1000 m3/h"]
    plain = site.plan(flows, "8 degC", traverses=[1, 2])
    by = plain.comparison.to_pandas()["relative_expanded_uncertainty_largest"]
    wanted = 100 * by["2 traverses (reflected)"] * 1.000001
    assert by["1 traverse (direct)"] > by["2 traverses (reflected)"]
    plan = site.plan(flows, "8 degC", traverses=[1, 2], target=f"{wanted} %", free_length="0.2 m")
    ax = fd.plots.uncertainty_against_flow(plan)
    (line,) = [own for own in ax.lines if np.allclose(own.get_ydata(), wanted, rtol=1e-9)]
    assert list(line.get_xdata()) == pytest.approx([100, 300, 1000])
    assert [text.get_text() for text in ax.texts] == [f"target {wanted:.6g} %"]
    words = legend(ax)
    assert "2 traverses (reflected): reaches the target, does not fit" in words
    (direct,) = [word for word in words if word.startswith("1 traverse (direct): ")]
    reached = sum(p["relative_expanded_uncertainty"] <= wanted / 100 for p in plan.points[:3])
    assert 0 < reached < 3
    assert direct.endswith(f": target at {reached} of 3 flows")
    # a target in units of flow is another share of each flow
    ax = fd.plots.uncertainty_against_flow(site.plan(flows, "8 degC", target="8 m3/h"))
    (curve,) = [own for own in ax.lines if len(own.get_xdata()) > 50]
    assert np.allclose(curve.get_xdata() * curve.get_ydata() / 100, 8.0)
    assert ax.get_ylim()[1] < 5
    assert [text.get_text() for text in ax.texts] == ["target 8 m3/h"]
    assert len(fd.plots.uncertainty_against_flow(plain).texts) == 0
    plt.close("all")


# alternatives side by side


@pytest.fixture(scope="module")
def compared(plain_text):
    text = plain_text.replace("traverses = 2\n", 'traverses = 2\nsensor_length = "80 mm"\n')
    return fd.Site.from_toml(text).plan(
        ["100 m3/h", "200 m3/h", "500 m3/h", "1000 m3/h"],
        "8 degC",
        traverses=[1, 2, 3, 4],
        target="3 %",
        free_length="0.5 m",
    )


def test_alternatives_are_rows_by_rank(compared):
    table = compared.comparison.to_pandas()
    points = compared.to_pandas().groupby("alternative")
    largest = points["relative_expanded_uncertainty"].max()
    typical = points["relative_expanded_uncertainty"].median()
    assert len(table) == len(compared.comparison) == 4
    for label, row in table.iterrows():
        assert row["relative_expanded_uncertainty_largest"] == largest[label]
        expected = pytest.approx(typical[label], rel=1e-14)
        assert row["relative_expanded_uncertainty_typical"] == expected
        spacing = points["spacing_m"].max()[label]
        assert row["length_needed_m"] == pytest.approx(spacing + 0.08)
        assert row["fits"] == (spacing + 0.08 <= 0.5)
    assert table["fits"].tolist() == sorted(table["fits"], reverse=True)
    assert table["rank_by_uncertainty"].is_monotonic_increasing
    assert 0 < table["fits"].sum() < 4
    polars = compared.comparison.to_polars()
    assert polars.columns == ["alternative", *table.columns]
    assert polars["alternative"].to_list() == list(table.index)
    assert "at_volume_flow_m3_s" in compared.comparison.to_pandas(si=True)
    found = compared.comparison.least_effort_on_target
    reach = table[table["on_target"]]
    assert found == reach["rank_by_effort"].idxmin()


def test_a_comparison_reads_alike_everywhere(compared):
    comparison = compared.comparison
    words, html = str(comparison), comparison._repr_html_()
    for label in compared.alternatives:
        assert label in words
        assert label in html
    for note in comparison.notes:
        assert note in words
        assert note in html
    assert "our convention" in words
    assert "licensed practice" in html
    assert all(len(row) == len(comparison.headings) for row in comparison.shown())
    stored = json.loads(comparison.to_json())
    assert stored == json.loads(compared.to_json())["comparison"]
    assert [row["alternative"] for row in stored["alternatives"]] == [
        row["alternative"] for row in comparison.rows()
    ]
    assert str(compared).count("our convention") == 1
    assert "4 alternatives" in repr(comparison)


def test_warnings_of_a_plan_are_told_once(site):
    plan = site.plan(["200 m3/h", "500 m3/h"], "160 degC", traverses=[1, 2, 3, 4])
    codes = [code for code, _ in plan.warnings(0)]
    assert "hot-pipe" in codes
    for shown in (str(plan), plan._repr_html_()):
        assert shown.count("warning (hot-pipe)") == 1
    (remark,) = [r for r in plan.comparison.remarks if r["code"] == "hot-pipe"]
    assert remark["belongs_to"] == "all"
    assert remark["kind"] == "warning"


@pytest.mark.parametrize(
    ("arguments", "kind", "words"),
    [
        ({"free_length": "1"}, fd.UnitError, "free_length"),
        ({"free_length": 1.0}, fd.InputError, "free_length.*no unit"),
        ({"free_length": "-1 m"}, fd.RangeError, "free_length"),
        ({"rail": "50 mm"}, fd.InputError, "rail"),
        ({"rail": ("50 mm", 400)}, fd.InputError, r"rail\[1\].*no unit"),
        ({"rail": ("50 mm", "40 mm")}, fd.RangeError, r"rail\[1\]"),
        ({"efforts": {"stated": 1}}, fd.InputError, "as stated"),
        ({"efforts": {"as stated": "much"}}, fd.InputError, "efforts.as stated"),
        ({"efforts": {"as stated": -1}}, fd.RangeError, "efforts"),
    ],
)
def test_what_plans_cannot_be_compared_by_is_refused(site, arguments, kind, words):
    with pytest.raises(kind, match=words):
        site.plan("1000 m3/h", "8 degC", **arguments)


def test_room_and_effort_reach_the_command_line(capsys, site, command):
    options = ["--traverses", "1", "2", "--free-length", "300 mm", "--rail", "100 mm", "400 mm"]
    efforts = {"1 traverse (direct)": 5.0, "2 traverses (reflected)": 2.5}
    given = [f"{label}={effort}" for label, effort in efforts.items()]
    assert cli.main([*command, *options, "--efforts", *given]) == 0
    plan = site.plan(
        ["200 m3/h", "1000 m3/h"],
        "8 degC",
        traverses=[1, 2],
        free_length="300 mm",
        rail=("100 mm", "400 mm"),
        efforts=efforts,
    )
    assert str(plan) in capsys.readouterr().out
    assert plan.comparison.rows()[-1]["fits"] is False


def test_pint_quantities_are_flows_and_temperatures(site):
    units = pytest.importorskip("pint").UnitRegistry()
    text = site.plan(["200 m3/h", "1000 m3/h"], "281 K")
    flows = units.Quantity([200.0, 1000.0], "m^3/hour")
    for given in (flows, [units.Quantity(f.magnitude, "m^3/hour") for f in flows]):
        plan = site.plan(given, units.Quantity(281.0, "K"))
        for point, expected in zip(plan.points, text.points, strict=True):
            flow = point["expanded_uncertainty_m3_h"]
            assert flow == pytest.approx(expected["expanded_uncertainty_m3_h"], rel=1e-12)
    mark_out = site.mark_out(temperature=units.Quantity(281.0, "K"))
    assert mark_out.spacing_m == site.mark_out(temperature="281 K").spacing_m
    rails = units.Quantity([50.0, 400.0], "mm"), [units.Quantity(5.0, "cm"), "400 mm"]
    rows = [site.plan("0.1 m3/s", "281 K", rail=rail).comparison.rows() for rail in rails]
    assert rows[0] == rows[1]
    assert rows[0][0]["fits"] is True
    with pytest.raises(fd.UnitError, match=r"flows: found a quantity in meter"):
        site.plan(units.Quantity(200.0, "m"), "281 K")
