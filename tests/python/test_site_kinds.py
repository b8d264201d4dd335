"""Liquids, pipes, layered paths, checks on site and reconciliation, as Python sees them."""

import fluids
import gsw
import numpy as np
import pytest
from CoolProp.CoolProp import PropsSI
from scipy.integrate import solve_ivp
from scipy.optimize import minimize
from scipy.stats import chi2
from tables import against

import flowdoubt as fd

SITE = """
[site]
name = "tank farm"
[liquid]
kind = "water"
temperature = { value = "20 degC", standard_uncertainty = "1.5 K" }
absolute_pressure = "5 bar"
[pipe]
outside_diameter = { value = "168.3 mm", standard_uncertainty = "0.2 mm" }
wall = { value = "7.11 mm", standard_uncertainty = "0.08 mm" }
wall_sound_speed = "3230 m/s"
[path]
basis = "timed"
traverses = 2
wedge_angle = "40 deg"
wedge_sound_speed = "2430 m/s"
[meter]
wedge_delay = { value = "16 us", standard_uncertainty = "0.1 us" }
"""


def readings(transit_time_us):
    return {
        "transit_time_us": np.full(6, transit_time_us) + np.array([-1, 1, 0, 0, 1, -1]) * 1e-3,
        "time_difference_ns": np.array([99.0, 101.0, 100.0, 100.5, 99.5, 100.0]),
    }


def test_sea_water_is_that_of_gsw():
    t_c, s_g, p_dbar = 12.5, 34.2, 10.0
    temperature, pressure = 273.15 + t_c, 101325.0 + 1e4 * p_dbar
    functions = (fd.seawater.density, fd.seawater.sound_speed)
    found = [function(temperature, pressure, s_g * 1e-3) for function in functions]
    functions = (gsw.density.rho_t_exact, gsw.sound_speed_t_exact)
    expected = [function(s_g, t_c, p_dbar) for function in functions]
    what = "density of sea water and sound speed in it"
    against(what, "TEOS-10 by package `gsw`", found, expected, rtol=1e-12)
    shape = fd.seawater.kinematic_viscosity(np.full((2, 1), 290.0), 1e5, [0.01, 0.02, 0.03]).shape
    assert shape == (2, 3)
    with pytest.raises(fd.RangeError, match=r"0 to 0\.042"):
        fd.seawater.density(290.0, 1e5, 0.05)
    with pytest.raises(fd.InputError, match="allowed: density, viscosity, sound_speed"):
        fd.seawater.relative_uncertainty("colour", 290.0)


def test_glycol_is_that_of_coolprop():
    found, expected = [], []
    for glycol, name in (("ethylene", "MEG"), ("propylene", "MPG")):
        state = ("T", 290.0, "P", 1e5, f"INCOMP::{name}[0.35]")
        functions = (fd.glycol.density, fd.glycol.dynamic_viscosity)
        found.append([function(glycol, 290.0, 0.35) for function in functions])
        expected.append([PropsSI(quantity, *state) for quantity in "DV"])
    what = "density and viscosity of glycol solutions"
    against(what, "package `CoolProp`", found, expected, rtol=1e-6)


@pytest.mark.parametrize("glycol", ["ethylene", "propylene"])
def test_properties_of_glycol_belong_together(glycol):
    density = fd.glycol.density(glycol, 290.0, 0.35)
    viscosity = fd.glycol.dynamic_viscosity(glycol, 290.0, 0.35)
    ratio = viscosity / density
    assert fd.glycol.kinematic_viscosity(glycol, 290.0, 0.35) == pytest.approx(ratio, rel=1e-14)
    freezing = fd.glycol.freezing_temperature(glycol, [0.1, 0.3])
    assert freezing.shape == (2,)
    assert freezing[1] < freezing[0] < 273.15
    with pytest.raises(fd.InputError, match="allowed: ethylene, propylene"):
        fd.glycol.density("butylene", 290.0, 0.3)
    with pytest.raises(fd.RangeError, match="begins to freeze"):
        fd.glycol.density(glycol, 250.0, 0.1)


def test_pipes_are_those_of_fluids():
    ours, theirs = [], []
    for nps, schedule in (("6", "40"), ("10", "STD"), ("1 1/2", "80")):
        number = {"1 1/2": 1.5}.get(nps) or float(nps)
        _, _, outside, wall = fluids.nearest_pipe(NPS=number, schedule=schedule)
        found = fd.pipe.dimensions("ASME B36.10M", nps, schedule)
        ours.append((found.outside_diameter.estimate, found.wall.estimate))
        theirs.append((outside, wall))
    what = "outside diameter and wall of ASME B36.10M, m"
    against(what, "package `fluids`", ours, theirs, atol=1e-9)
    assert "40" in fd.pipe.schedules("ASME B36.10M", "6")
    with pytest.raises(fd.InputError, match="did you mean `40`"):
        fd.pipe.dimensions("ASME B36.10M", "6", "45")
    rubber = fd.pipe.material("rubber")
    assert rubber.shear_speed is None
    assert rubber.longitudinal_speed.status in ("seen", "judged", "memory")
    with pytest.raises(fd.InputError, match="did you mean"):
        fd.pipe.material("karbon steel")
    with pytest.raises(fd.InputError, match="rings, positions"):
        fd.pipe.wall_grid([7e-3, 7.1e-3])
    with pytest.raises(fd.InputError, match="not a grid of numbers"):
        fd.pipe.wall_grid([[7e-3], [7e-3, 7e-3]])
    with pytest.raises(fd.InputError, match="allowed: open, closed, anchored"):
        fd.pipe.pressure_strain(0.2, 0.19, 1e6, 2e11, 0.3, "loose")


def layered(random):
    """A random pipe of one to five layers, and the sines of the ray in them."""
    count = random.integers(1, 6)
    thicknesses = random.uniform(0.5e-3, 20e-3, count)
    speeds = random.uniform(1200.0, 6000.0, count)
    wedge_speed, liquid = random.uniform(1500.0, 3000.0), random.uniform(900.0, 2000.0)
    fastest = max(*speeds, wedge_speed, liquid)
    angle = np.arcsin(random.uniform(0.1, 0.9) * wedge_speed / fastest)
    bore, traverses = random.uniform(0.02, 2.0), int(random.integers(1, 9))
    arguments = {
        "outside_diameter": bore + 2 * thicknesses.sum(),
        "wall": thicknesses[0],
        "wall_speed": speeds[0],
        "layers": list(zip(thicknesses[1:], speeds[1:], strict=True)),
        "liquid_speed": liquid,
        "traverses": traverses,
    }
    wedge = {"wedge_angle": angle, "wedge_speed": wedge_speed}
    across = np.array([*(2 * thicknesses), traverses * bore])
    return arguments, wedge, across, np.array([*speeds, liquid])


def test_fermat_by_scipy_gives_the_same_paths():
    """Between two points on the outside, scipy finds the runs that take least time."""
    random = np.random.default_rng(20121004)
    times, least_times = [], []
    for _ in range(1000):
        arguments, wedge, across, speeds = layered(random)
        traced = fd.acoustics.path(**arguments, **wedge)
        total = traced.spacing

        # unknowns: tangents of the angles in all layers but the last, which takes what is left
        def runs(tangents, across=across, total=total):
            first = across[:-1] * tangents
            return np.array([*first, total - first.sum()])

        def time(tangents, runs=runs, across=across, speeds=speeds):
            return (np.hypot(runs(tangents), across) / speeds).sum()

        def slope(tangents, runs=runs, across=across, speeds=speeds):
            x = runs(tangents)
            sines = x / np.hypot(x, across) / speeds
            return across[:-1] * (sines[:-1] - sines[-1])

        scale = time(np.zeros(len(across) - 1))
        start = np.full(len(across) - 1, 0.3)
        found = minimize(
            lambda t, scale=scale: time(t) / scale,
            start,
            jac=lambda t, scale=scale: slope(t) / scale,
            method="BFGS",
            options={"gtol": 1e-13},
        )
        least = found.fun * scale
        ours = traced.time_in_liquid + traced.dead_time
        times.append(ours)
        least_times.append(least)
        assert ours <= least * (1 + 1e-12)
        again = fd.acoustics.path(**arguments, spacing=total)
        assert again.axial_slowness == pytest.approx(traced.axial_slowness, rel=1e-9)
        assert again.time_in_liquid == pytest.approx(traced.time_in_liquid, rel=1e-9)
        # angles are stationary with the time, so the minimum tells them to the root of it
        in_liquid = np.arctan(runs(found.x)[-1] / across[-1])
        assert traced.angles.liquid == pytest.approx(in_liquid, abs=2e-6)
    what, source = "time of the ray through pipes of any layers", "least time of all ways by scipy"
    against(what, source, times, least_times, rtol=1e-9)


def graded(shape):
    """Run and time of a ray by thin layers and Snell's law, and by the ray equation in scipy."""
    depth, c0, change = 0.4, 1480.0, 0.04

    def speed(y):
        part = y / depth if shape == "linear" else np.log1p(9 * y / depth) / np.log(10)
        return c0 * (1 + change * part)

    slowness = np.sin(np.radians(25.0)) / c0

    def ray(y, _state):
        sine = slowness * speed(y)
        cosine = np.sqrt(1 - sine**2)
        return [sine / cosine, 1 / (speed(y) * cosine)]

    run, time = solve_ivp(ray, (0, depth), [0, 0], rtol=1e-12, atol=1e-14).y[:, -1]

    def stack(count):
        middles = (np.arange(count) + 0.5) * depth / count
        layers = [(depth / count, speed(y)) for y in middles]
        # the layers stand for the liquid: crossed on both sides of a bore of next to nothing
        traced = fd.acoustics.path(
            outside_diameter=2 * depth + 1e-9,
            wall=layers[0][0],
            wall_speed=layers[0][1],
            layers=layers[1:],
            liquid_speed=c0,
            wedge_angle=np.radians(25.0),
            wedge_speed=c0,
        )
        return traced.spacing / 2, traced.dead_time / 2

    coarse, fine = np.array(stack(100)), np.array(stack(200))
    limit = fine + (fine - coarse) / 3
    return limit, [run, time]


def test_a_ray_in_a_graded_liquid_is_bent_but_the_stack_of_layers_follows():
    ours, theirs = zip(graded("linear"), graded("logarithmic"), strict=True)
    what, source = "run and time of a ray in a graded liquid", "ray equation, scipy"
    against(what, source, ours, theirs, rtol=1e-8)


def test_the_sound_speed_check_ranks_its_causes():
    site = fd.Site.from_toml(SITE)
    warm = fd.Site.from_toml(SITE.replace("20 degC", "24 degC")).evaluate(readings(240.0)).steps
    time = 1e6 * (warm["expected_time_in_liquid_s"] + warm["dead_time_s"])
    check = site.check_sound_speed(readings(time))
    assert check.causes[0]["quantity"] == "liquid.temperature"
    assert check.causes[0]["shift"] == pytest.approx(4.0, abs=0.3)
    expected = fd.water.sound_speed(293.15, 5e5)
    assert check.expected == pytest.approx(expected, rel=1e-12)
    assert check.measured - check.expected == pytest.approx(check.difference, rel=1e-9)
    assert check.budget.standard_uncertainty == check.standard_uncertainty
    assert "liquid.temperature" in str(check)
    assert "standard uncertainties" in repr(check)


def test_reconciliation_is_the_least_chi_square_that_scipy_finds():
    warm = fd.Site.from_toml(SITE.replace("20 degC", "21 degC")).evaluate(readings(240.0)).steps
    time = 1e6 * (warm["expected_time_in_liquid_s"] + warm["dead_time_s"])
    evaluation = fd.Site.from_toml(SITE).evaluate(readings(time))
    found = evaluation.reconciled()
    columns = found.adjustments
    before, u = np.array(columns["before"]), np.array(columns["uncertainty_before"])
    after = np.array(columns["after"])
    # inputs are independent here, so chi-square is a sum of squares
    assert (((after - before) / u) ** 2).sum() == pytest.approx(found.chi_square, rel=1e-6)
    what, expected = "p-value of a reconciliation", chi2.sf(found.chi_square, 1)
    against(what, "package `scipy`", found.probability, expected, rtol=1e-9)
    assert found.is_consistent
    assert found.after.standard_uncertainty < evaluation.standard_uncertainty
    assert found.before.standard_uncertainty == evaluation.standard_uncertainty
    assert abs(found.after.sound_speed_check().difference) < 1e-8

    # scipy minimises over temperature, wall, diameter and delay, the rest at its estimate, with
    # the constraint as a stiff spring; the rest (formulation, transit time) hardly moves
    names = ["liquid.temperature", "pipe.wall", "pipe.outside_diameter", "meter.wedge_delay"]
    place = [columns["input"].index(n) for n in names]

    def site_at(z):
        t, e, d, w = before[place] + u[place] * z
        text = SITE.replace("20 degC", f"{t:.15g} degC").replace("7.11 mm", f"{e:.15g} mm")
        text = text.replace("168.3 mm", f"{d:.15g} mm").replace("16 us", f"{w:.15g} us")
        return fd.Site.from_toml(text).check_sound_speed(readings(time)).difference

    result = minimize(
        lambda z: z @ z,
        np.zeros(4),
        constraints={"type": "eq", "fun": site_at},
        method="SLSQP",
        options={"ftol": 1e-14},
    )
    ours = (after[place] - before[place]) / u[place]
    np.testing.assert_allclose(ours, result.x, atol=0.01 * abs(result.x).max())


def test_zero_and_programmed_parameters():
    evaluation = fd.Site.from_toml(SITE).evaluate(readings(240.0))
    zero = evaluation.zero_check({"time_difference_ns": [0.4, 0.5, 0.6, 0.5]})
    assert zero.found == pytest.approx(0.5)
    assert not zero.agrees
    assert zero.flow < 0
    assert "standard uncertainties" in repr(zero)
    with pytest.raises(fd.InputError, match="time_difference"):
        evaluation.zero_check({"transit_time_us": [1.0, 2.0]})
    assert evaluation.programmed_check() == []
    indicated = SITE.replace('"timed"', '"indicated"') + (
        '[meter.programmed]\nprinciple = "timed"\n'
        'inside_diameter = "150 mm"\nprofile_factor = 1.0\n'
    )
    evaluation = fd.Site.from_toml(indicated).evaluate({"volume_flow_m3_h": [50.0, 51.0]})
    (check,) = evaluation.programmed_check()
    assert check["parameter"] == "inside diameter"
    assert check["standardised"] == pytest.approx((0.150 - 0.15408) / np.hypot(2e-4, 1.6e-4))
    assert [code for code, _ in evaluation.warnings] == ["programmed-differs"]
    assert "programmed inside diameter differs" in evaluation._repr_html_()
    with pytest.raises(fd.FlowdoubtError, match="transit_time"):
        evaluation.reconciled()


def test_placement_and_path_arguments():
    evaluation = fd.Site.from_toml(SITE).evaluate(readings(240.0))
    placement = evaluation.placement
    assert placement["placed_m"] is None
    assert placement["spacing_m"] == pytest.approx(evaluation.steps["spacing_m"])
    assert placement["relative_sensitivity_1_m"] < 0
    pipe = {"outside_diameter": 0.2, "wall": 0.007, "wall_speed": 3230.0, "liquid_speed": 1480.0}
    for wrong in ({}, {"wedge_angle": 0.7}, {"spacing": 0.1, "wedge_speed": 2430.0}):
        with pytest.raises(fd.InputError, match="or spacing alone"):
            fd.acoustics.path(**pipe, **wrong)
    bare = fd.acoustics.path(**pipe, spacing=[0.1, 0.2])
    assert bare.angles.liner is None
    assert bare.angles.layers == ()
    coupled = fd.acoustics.path(**pipe, spacing=[0.1, 0.2], couplant=0.1e-3, couplant_speed=1500.0)
    assert (coupled.angles.liquid < bare.angles.liquid).all()
    lined = fd.acoustics.path(
        **pipe, spacing=0.1, liner=2e-3, liner_speed=2500.0, layers=[(1e-3, 2600.0)]
    )
    assert len(lined.angles.layers) == 1


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: fd.acoustics.path(**PIPE, spacing=0.1, liner=1e-3), "liner and liner_speed"),
        (lambda: fd.acoustics.path(**PIPE, spacing=0.1, couplant_speed=1e3), "couplant_speed"),
        (lambda: fd.acoustics.path(**PIPE, spacing="wide"), "not numbers that fit together"),
        (lambda: fd.acoustics.path(**PIPE, spacing=[[0.1], [0.1, 0.2]]), "not numbers"),
        (lambda: fd.seawater.density([280.0, 290.0], [1e5, 1e5, 1e5]), "not numbers that fit"),
        (lambda: fd.glycol.density("ethylene", None, "much"), "not numbers that fit together"),
        (lambda: fd.acoustics.path(**PIPE, spacing=float("nan")), "path.spacing: found NaN"),
        (lambda: fd.seawater.sound_speed(float("nan")), "found NaN"),
        (lambda: fd.pipe.wall_grid([[]]), "one ring with one reading"),
        (lambda: fd.pipe.wall_grid([[float("nan"), 7e-3]]), "found NaN"),
        (lambda: fd.pipe.dimensions("ISO 4427", "110", "SDR 11"), "pipe.size"),
    ],
)
def test_what_is_no_number_or_does_not_fit_is_refused_in_words(call, words):
    with pytest.raises(fd.FlowdoubtError, match=words):
        call()
    assert fd.seawater.density([]).shape == (0,)


PIPE = {"outside_diameter": 0.2, "wall": 0.007, "wall_speed": 3230.0, "liquid_speed": 1480.0}
