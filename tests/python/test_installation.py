"""Disturbed profiles from Python: arrays, integrals by scipy, figures, bad input."""

import numpy as np
import pytest
from scipy.integrate import dblquad, quad
from tables import against

import flowdoubt as fd
from flowdoubt import installation


def test_shapes_follow_the_arguments():
    run = np.array([[2.0], [5.0], [10.0]])
    angle = np.radians([0.0, 30.0, 60.0, 90.0])
    for function in (
        installation.factor,
        installation.half_width,
        installation.standard_uncertainty,
        installation.cross_flow_half_width,
    ):
        found = function("single_bend", straight_run=run, orientation=angle)
        assert found.shape == (3, 4)
        one = function("single_bend", straight_run=5.0, orientation=angle[1])
        assert isinstance(one, float)
        assert one == found[1, 1]
        assert function("single_bend", straight_run=run).shape == (3, 1)
    error = installation.path_error("single_bend", straight_run=run, orientation=angle)
    factor = installation.factor("single_bend", straight_run=run, orientation=angle)
    np.testing.assert_allclose((1 + error) * factor, 1.0, rtol=1e-14)
    u = installation.standard_uncertainty("pump", straight_run=run, planes=2)
    h = installation.half_width("pump", straight_run=run, planes=2)
    np.testing.assert_allclose(u * np.sqrt(3), h, rtol=1e-14)


def test_the_fields_carry_the_mean_and_their_path_means_give_the_error():
    areas, found, expected = zip(*map(by_quadrature, installation.FITTINGS), strict=True)
    source = "scipy quadrature"
    what = "area mean of disturbed profiles"
    against(what, source, areas, 1.0, atol=1e-6)
    what = "error of a path in disturbed profiles"
    against(what, source, found, expected, atol=1e-8)


def by_quadrature(fitting):
    """Area mean of the field; errors of two paths as stated and from the field."""
    from flowdoubt import _core

    def velocity(r, t):
        axial, _, _ = _core.disturbed_velocity(fitting, 3.0, np.array([r]), np.array([t]))
        return axial[0]

    # r = 1 - s^7 takes the steep wall out of the integrand
    def over_area(s, t):
        return velocity(1 - s**7, t) * (1 - s**7) * 7 * s**6

    area, _ = dblquad(over_area, 0.0, 2 * np.pi, 0.0, 1.0, epsabs=1e-7)

    def path(t):
        return quad(lambda s: velocity(1 - s**7, t) * 7 * s**6, 0.0, 1.0, epsabs=1e-10)[0]

    undisturbed = (2 * 7 + 1) / (2 * 7)  # power law with n = 7
    orientation = np.array([0.0, 0.7])
    error = installation.path_error(fitting, straight_run=3.0, orientation=orientation)
    mean = [0.5 * (path(angle) + path(angle + np.pi)) for angle in orientation]
    return area / np.pi, error, np.array(mean) / undisturbed - 1


def test_profile_is_a_picture_of_the_cross_section():
    field = installation.profile("single_bend", straight_run=2.0, points=41)
    assert field.x.shape == field.axial.shape == field.cross_x.shape == (41, 41)
    outside = np.hypot(field.x, field.y) > 1.0
    assert np.array_equal(np.isnan(field.axial), outside)
    # fast on the outer side, and cells that stream there through the core
    assert field.axial[20, 30] > 1.1 > 0.9 > field.axial[20, 10]
    assert field.cross_x[20, 20] > 0.05
    assert field.cross_y[20, 20] == pytest.approx(0.0, abs=1e-15)
    np.testing.assert_allclose(field.axial, field.axial[::-1], rtol=1e-12)


def test_advice():
    advice = installation.recommended_orientation("single_bend")
    assert advice.orientation == pytest.approx(np.pi / 2)
    assert advice.planes == 1
    assert installation.recommended_orientation("pump").planes == 2
    assert "swirl" in installation.recommended_orientation("two_bends_out_of_plane").reason
    runs = installation.straight_run_in_practice("partly_open_valve")
    assert (runs.upstream, runs.downstream) == ((20.0, 30.0), 5.0)
    assert installation.caution("single_bend", straight_run=12.0) is None
    assert "10 D" in installation.caution("single_bend", straight_run=6.0)


@pytest.mark.parametrize(
    ("call", "error", "words"),
    [
        (lambda f: f("single_bent", straight_run=5.0), fd.InputError, "did you mean `single_bend`"),
        (lambda f: f("pump", straight_run=0.2), fd.RangeError, "1 to 1000 inside diameters"),
        (lambda f: f("pump", straight_run=-3.0), fd.RangeError, "found -3 D"),
        (lambda f: f("pump", straight_run=float("nan")), fd.RangeError, "NaN"),
        (lambda f: f("pump", straight_run=5.0, planes=3), fd.RangeError, "planes"),
    ],
)
@pytest.mark.parametrize("function", [installation.factor, installation.half_width])
def test_bad_input_is_refused(function, call, error, words):
    with pytest.raises(error, match=words):
        call(function)


def test_bad_paths_are_refused():
    with pytest.raises(fd.RangeError, match="traverses"):
        installation.cross_flow_half_width("pump", straight_run=5.0, traverses=9)
    with pytest.raises(fd.RangeError, match="angle_in_liquid"):
        installation.cross_flow_half_width("pump", straight_run=5.0, angle_in_liquid=2.0)
    with pytest.raises(fd.RangeError, match="straight_run"):
        installation.profile("pump", straight_run=0.5)


def test_a_fitting_in_the_site_file(plain_text):
    start = plain_text.index('factor = { value = "1.000", half_width')
    end = plain_text.index("\n", start)
    lines = 'fitting = "single_bend"\nstraight_run = "14 D"\norientation = "90 deg"'
    site = fd.Site.from_toml(plain_text[:start] + lines + plain_text[end:])
    evaluation = site.evaluate("notebooks/demo/readings.csv")
    columns = evaluation.budget.columns()
    row = list(columns["input"]).index("installation.factor")
    expected = installation.factor("single_bend", straight_run=14.0, orientation=np.pi / 2)
    assert columns["estimate"][row] == pytest.approx(expected, rel=1e-14)
    assert "14.0 D downstream of one 90 degree bend" in columns["evidence"][row]


def test_figures_draw_on_the_axes_given():
    import matplotlib

    matplotlib.use("agg")
    import matplotlib.pyplot as plt

    from flowdoubt import plots

    for fitting in installation.FITTINGS:
        _, axes = plt.subplots(1, 3)
        assert plots.error_against_orientation(fitting, axes[0]) is axes[0]
        assert plots.error_against_straight_run(fitting, axes[1]) is axes[1]
        assert plots.disturbed_profile(fitting, axes[2], straight_run=2.0) is axes[2]
        assert "deg" in axes[0].get_xlabel()
        assert "/ D" in axes[1].get_xlabel()
        plt.close("all")
    drawn = plots.error_against_orientation("single_bend", straight_runs=[3.0])
    one, two = (line.get_ydata() for line in drawn.get_lines()[:2])
    assert min(one) < two[0] < max(one)
    assert np.ptp(two) == 0.0
    with pytest.raises(ValueError, match="1 to 4"):
        plots.error_against_orientation("single_bend", straight_runs=[1.0, 2.0, 3.0, 4.0, 5.0])
    plt.close("all")
