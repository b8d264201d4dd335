"""The physics functions against other packages and published values."""

import fluids
import numpy as np
import pytest
from CoolProp.CoolProp import PropsSI
from iapws import IAPWS95
from tables import against

import flowdoubt as fd

STATES = [
    (274.0, 1.5e5),
    (281.25, 7.2e5),
    (293.15, 101325.0),
    (333.15, 2e6),
    (453.15, 5e6),
    (503.0, 9.9e6),
]


def test_water_meets_the_iapws_package():
    package = "package `iapws`"
    temperature, pressure = np.transpose(STATES)
    states = [IAPWS95(T=t, P=p * 1e-6) for t, p in STATES]
    # the package searches for the density, and is off by up to 2.5e-10 in the sound speed then
    density = fd.water.density(temperature, pressure)
    against("density of water", package, density, [s.rho for s in states], rtol=1e-9, noise=1e-10)
    speed = fd.water.sound_speed(temperature, pressure)
    against("sound speed in water", package, speed, [s.w for s in states], rtol=2e-9, noise=1e-9)
    # the package adds the critical enhancement, which is below 1e-6 here
    viscosity = fd.water.dynamic_viscosity(temperature, pressure)
    expected = [s.mu for s in states]
    against("dynamic viscosity of water", package, viscosity, expected, rtol=1e-6, noise=1e-8)


def test_water_meets_coolprop_over_the_whole_range():
    temperature, pressure = np.meshgrid(np.linspace(273.5, 503.0, 24), np.linspace(0.3e6, 1e7, 9))
    liquid = pressure > 1.01 * fd.water.saturation_pressure(temperature)
    t, p = temperature[liquid], pressure[liquid]
    assert t.size > 150
    package = "package `CoolProp`"
    expected = PropsSI("D", "T", t, "P", p, "Water")
    found = fd.water.density(t, p)
    against("density of water", package, found, expected, rtol=1e-9, noise=1e-10)
    expected = PropsSI("A", "T", t, "P", p, "Water")
    found = fd.water.sound_speed(t, p)
    against("sound speed in water", package, found, expected, rtol=2e-9, noise=1e-9)


def test_industrial_formulation_is_no_substitute():
    """IF97 is 2.9 m/s higher at 60 degC and 1 atm (computed with package iapws)."""
    from iapws import IAPWS97

    industrial = IAPWS97(T=333.15, P=0.101325).w
    assert industrial - fd.water.sound_speed(333.15) == pytest.approx(2.886, abs=0.005)


def test_colebrook_meets_the_fluids_package():
    reynolds, roughness = np.meshgrid(np.geomspace(2500, 9e7, 25), [0.0, 1e-5, 1e-3, 0.03])
    ours = fd.profile.friction_factor(reynolds, roughness)
    pairs = zip(reynolds.flat, roughness.flat, strict=True)
    theirs = [fluids.friction.Colebrook(float(re), float(k)) for re, k in pairs]
    # the package rounds 2.51 and 3.7 otherwise than the paper in some of its branches
    against("friction factor of Colebrook", "package `fluids`", ours.ravel(), theirs, rtol=1e-9)


def test_profile_factors_of_the_exact_profiles():
    assert fd.profile.correction_factor(500.0) == 0.75
    n = 1 / np.sqrt(fd.profile.friction_factor(1e5))
    power = fd.profile.correction_factor(1e5, law="power")
    assert power == pytest.approx(2 * n / (2 * n + 1), rel=1e-14)


def test_profile_factor_by_quadrature_of_the_velocity():
    """Area and path mean of the velocity itself, by scipy."""
    from scipy.integrate import quad

    reynolds = 2e5
    f = fd.profile.friction_factor(reynolds)
    # in units of the bulk velocity; the constant is fixed by the area mean being one
    slope = np.sqrt(f / 8) / 0.40
    velocities = {
        "power": lambda r: (1 - r) ** np.sqrt(f),
        "logarithmic": lambda r: 1 + 1.5 * slope + slope * np.log1p(-r),
    }

    def quotient(velocity):
        return 2 * quad(lambda r: r * velocity(r), 0, 1)[0] / quad(velocity, 0, 1)[0]

    ours = [fd.profile.correction_factor(reynolds, law=law) for law in velocities]
    theirs = [quotient(velocity) for velocity in velocities.values()]
    what = "profile factor of the logarithmic and the power law"
    against(what, "scipy quadrature", ours, theirs, rtol=1e-8)


def profile_by_fields(law, r, friction_velocity):
    """Velocity over its area mean, written anew; `r` may be an array."""
    if law == "logarithmic":
        return 1 + friction_velocity / 0.40 * (1.5 + np.log1p(-r))
    n = 1 / (np.sqrt(8) * friction_velocity)
    return (1 - r) ** (1 / n) * (n + 1) * (2 * n + 1) / (2 * n**2)


def test_chord_factor_over_the_whole_pipe():
    """Chord means by scipy at any offset."""
    from scipy.integrate import quad

    u = np.sqrt(fd.profile.friction_factor(3e5) / 8)
    r = np.array([0.0, 0.5, 0.95])
    found, expected = [], []
    for law in ("logarithmic", "power"):
        for offset in (0.0, 0.2, 0.5, 0.9):
            half = np.sqrt(1 - offset**2)

            def on_chord(s, law=law, offset=offset):
                return profile_by_fields(law, np.hypot(offset, s), u)

            mean = quad(on_chord, 0, half, epsabs=1e-11, limit=200)[0] / half
            found.append(fd.profile.chord_factor(3e5, offset, law=law))
            expected.append(1 / mean)
        shape = fd.profile.velocity_shape(r, 3e5, law=law)
        np.testing.assert_allclose(shape, profile_by_fields(law, r, u), rtol=1e-12)
    what = "factor of chords, logarithmic and power law"
    against(what, "scipy quadrature", found, expected, rtol=1e-8)


@pytest.mark.parametrize("law", list(fd.profile.LAWS))
def test_all_chords_together_make_the_area_mean(law):
    """Gauss quadrature over the offset, weight sqrt(1 - h^2), of the chord-mean velocity."""
    k = np.arange(1, 41)
    offset = np.abs(np.cos(k * np.pi / 41))
    weight = 2 / 41 * np.sin(k * np.pi / 41) ** 2
    for reynolds in (500.0, 3000.0, 1e5):
        mean = np.sum(weight / fd.profile.chord_factor(reynolds, offset, law=law))
        assert mean == pytest.approx(1, abs=2e-4)


def test_laws_by_name():
    for name, words in fd.profile.LAWS.items():
        assert 0.9 < fd.profile.correction_factor(1e5, law=name) < 0.96, words
        assert fd.profile.law_uncertainty(1e5, law=name) > 0.0017
    for name in fd.profile.FRICTION_LAWS:
        assert 0.017 < fd.profile.friction_factor(1e5, law=name) < 0.019
    for constants in fd.profile.LOGARITHMIC_CONSTANTS:
        by_name = fd.profile.correction_factor(1e5, law=constants.name)
        by_kappa = fd.profile.correction_factor(1e5, law="logarithmic", kappa=constants.kappa)
        assert by_name == by_kappa
    assert fd.profile.correction_factor(1e5, law="power", n=7) == pytest.approx(14 / 15)
    assert fd.profile.intermittency(fd.profile.TRANSITION_REYNOLDS) == 0.5
    assert fd.profile.intermittency(3000.0, 3000.0) == 0.5
    with pytest.raises(fd.RangeError, match="transition_reynolds"):
        fd.profile.intermittency(3000.0, 500.0)


def test_smooth_friction_refuses_roughness():
    with pytest.raises(fd.InputError, match="smooth pipes") as caught:
        fd.profile.friction_factor(1e5, 1e-4, law="mckeon")
    assert caught.value.code == "conflict"
    with pytest.raises(fd.InputError, match="smooth pipes"):
        fd.profile.correction_factor(1e5, 1e-4, friction="prandtl")
    with pytest.raises(fd.RangeError, match="Blasius"):
        fd.profile.friction_factor(2e5, law="blasius")


def test_path_by_fermats_principle():
    """Of all ways through wedge, wall and liquid the ray takes the one of least time."""
    from scipy.optimize import minimize

    wall, bore, wedge = 0.0071, 0.1541, 0.02
    wedge_speed, wall_speed, liquid_speed = 2430.0, 3230.0, 1482.3
    angle = np.radians(40.0)
    traced = fd.acoustics.path(
        outside_diameter=bore + 2 * wall,
        wall=wall,
        wedge_angle=angle,
        wedge_speed=wedge_speed,
        wall_speed=wall_speed,
        liquid_speed=liquid_speed,
        traverses=1,
    )
    # sender and receiver are points in the wedges; the ray may cross the faces where it likes
    run_in_wedge = wedge * np.tan(angle)
    total = 2 * run_in_wedge + traced.spacing

    def time(x):
        runs = np.diff([0.0, *x, total])
        thickness = [wedge, wall, bore, wall, wedge]
        speeds = [wedge_speed, wall_speed, liquid_speed, wall_speed, wedge_speed]
        return sum(np.hypot(r, h) / c for r, h, c in zip(runs, thickness, speeds, strict=True))

    start = np.linspace(0, total, 6)[1:-1]
    found = minimize(
        lambda x: 1e6 * time(x),
        start,
        method="Nelder-Mead",
        options={"xatol": 1e-12, "fatol": 1e-15, "maxiter": 20000, "maxfev": 40000},
    )
    in_wedges = 2 * wedge / (np.cos(angle) * wedge_speed)
    ours = traced.time_in_liquid + traced.dead_time + in_wedges
    what = "time of the ray through wedges, walls and liquid"
    against(what, "least time of all ways by scipy", ours, 1e-6 * found.fun, rtol=1e-11)
    assert found.x[0] == pytest.approx(run_in_wedge, rel=1e-4)


def test_shapes_and_broadcasting():
    temperature = np.array([[280.0], [290.0]])
    pressure = np.array([1e6, 2e6, 3e6])
    assert fd.water.density(temperature, pressure).shape == (2, 3)
    assert isinstance(fd.water.density(280.0), float)
    assert fd.water.density([]).shape == (0,)
    assert fd.water.density([280]).dtype == np.float64
    reference = fd.water.sound_speed(290.0, 2e6)
    assert fd.water.sound_speed(temperature, pressure)[1, 1] == reference
    fortran = np.asfortranarray(np.full((3, 4), 285.0))
    assert fd.water.density(fortran[::2]).shape == (2, 4)
    traced = fd.acoustics.path(
        outside_diameter=0.3,
        wall=[0.005, 0.006],
        wedge_angle=0.7,
        wedge_speed=2430.0,
        wall_speed=3230.0,
        liquid_speed=1480.0,
    )
    assert traced.spacing.shape == traced.angles.liquid.shape == (2,)


@pytest.mark.parametrize(
    ("call", "field", "words"),
    [
        (lambda: fd.water.density(272.0), "water temperature", "273.15 to 503.15"),
        (lambda: fd.water.density(float("nan")), "water temperature", "NaN"),
        (lambda: fd.water.density(400.0, 1e5), "water pressure", "boils"),
        (lambda: fd.water.density(300.0, 2e7), "water pressure", "10000000"),
        (lambda: fd.profile.friction_factor(1000.0), "Reynolds number", "2300"),
        (lambda: fd.profile.correction_factor(-1.0), "Reynolds number", "0 to 1e8"),
        (lambda: fd.profile.correction_factor(1e5, 0.2), "relative roughness", "0.05"),
        (lambda: fd.profile.chord_factor(1e5, 1.0), "offset", "0 to below 1"),
        (lambda: fd.profile.velocity_shape(-0.1, 1e5), "radius", "0 to below 1"),
        (lambda: fd.profile.correction_factor(1e5, law="power", n=30), "n", "4 to 15"),
    ],
)
def test_out_of_range_is_refused(call, field, words):
    with pytest.raises(fd.RangeError, match=words) as caught:
        call()
    assert caught.value.field == field
    assert caught.value.code == "out-of-range"
    assert isinstance(caught.value, ValueError)


def test_unknown_law_suggests_the_nearest():
    with pytest.raises(fd.InputError, match="did you mean `logarithmic`") as caught:
        fd.profile.correction_factor(1e5, law="logaritmic")
    assert caught.value.value == "logaritmic"


def test_total_reflection_names_the_interface_and_the_angle():
    with pytest.raises(fd.RangeError, match="wedge to wall") as caught:
        fd.acoustics.path(
            outside_diameter=0.3,
            wall=0.005,
            wedge_angle=np.radians(55),
            wedge_speed=2430.0,
            wall_speed=3230.0,
            liquid_speed=1480.0,
        )
    assert caught.value.code == "total-reflection"
    assert f"{np.degrees(np.arcsin(2430 / 3230)):.2f}" in str(caught.value)


def test_figures_of_profile_laws_have_every_law_and_the_band_of_uncertainty():
    pytest.importorskip("matplotlib").use("agg")
    from matplotlib import pyplot as plt

    from flowdoubt import plots

    _, axes = plt.subplots(1, 2)
    assert plots.profile_laws(axes[0]) is axes[0]
    assert plots.profile_roughness(axes[1], reynolds=1e5) is axes[1]
    labels = [text.get_text() for text in axes[0].get_legend().get_texts()]
    assert "twice its standard uncertainty" in labels
    default = next(line for line in axes[0].get_lines() if "default" in line.get_label())
    reynolds, k = default.get_data()
    np.testing.assert_allclose(k, fd.profile.correction_factor(reynolds), rtol=1e-14)
    # a law for smooth pipes has no place beside roughness
    assert len(axes[1].get_lines()) == len(axes[0].get_lines()) - 1
    plt.close("all")
