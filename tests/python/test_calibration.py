"""Calibration factors over the flow, and verifications put back into the site."""

import tomllib

import numpy as np
import pytest
from scipy.interpolate import BSpline, make_interp_spline
from tables import against

import flowdoubt as fd
from flowdoubt import cli

SITE = """
[site]
name = "Test"
[liquid]
kind = "water"
temperature = "18 degC"
absolute_pressure = "3 bar"
density_formulation = "1"
viscosity_formulation = "1"
[pipe]
outside_diameter = "168.3 mm"
wall = "7.1 mm"
[path]
basis = "indicated"
traverses = 2
[meter.programmed]
principle = "timed"
inside_diameter = "154.1 mm"
profile_factor = 0.9432
[profile]
law_factor = "1"
"""

DEMO = "notebooks/demo/site.toml"
READINGS = "notebooks/demo/readings.csv"


def curve(flows, factors, u, correlation):
    points = ",\n".join(
        f'{{ flow = "{q!r} m3/h", value = "{k!r}", standard_uncertainty = "{s!r}" }}'
        for q, k, s in zip(flows, factors, u, strict=True)
    )
    rows = [list(map(float, row)) for row in correlation]
    return (
        f"{SITE}[meter.calibration_factor]\ncorrelation = {rows}\npoint = [\n{points},\n]\n"
        'common = { standard_uncertainty = "0.04 %" }\n'
    )


def test_factor_and_uncertainty_are_those_of_scipy():
    rng = np.random.default_rng(5)
    flows = [20.0, 45.0, 80.0, 130.0, 210.0]
    factors = (1 + 0.01 * rng.standard_normal(5)).tolist()
    u = rng.uniform(0.0005, 0.002, 5).tolist()
    root = rng.standard_normal((5, 8))
    covariance = root @ root.T
    d = np.sqrt(np.diag(covariance))
    correlation = np.tril(covariance / np.outer(d, d), -1)
    correlation = correlation + correlation.T + np.eye(5)
    site = fd.Site.from_toml(curve(flows, factors, u, correlation))
    bare = fd.Site.from_toml(SITE)
    at_points = np.diag(u) @ correlation @ np.diag(u)
    ours, theirs = [], []
    for shown in np.linspace(22.0, 205.0, 12):
        readings = {"volume_flow_m3_h": [shown * (1 - 1e-9), shown * (1 + 1e-9)]}
        flow = bare.evaluate(readings).value("m3/h")
        spline = make_interp_spline(flows, factors, k=1)
        weights = BSpline.design_matrix([flow], spline.t, 1).toarray()[0]
        factor = spline(flow).item()
        variance = weights @ at_points @ weights + 0.0004**2
        single = f'[meter]\ncalibration_factor = {{ value = "{factor!r}", standard_uncertainty = '
        single = fd.Site.from_toml(SITE + single + f'"{np.sqrt(variance).item()!r}" }}\n')
        found, expected = site.evaluate(readings), single.evaluate(readings)
        assert found.estimate == pytest.approx(expected.estimate, rel=1e-12)
        ours.append(found.standard_uncertainty)
        theirs.append(expected.standard_uncertainty)
    what = "standard uncertainty by correlated calibration points"
    against(what, "spline of scipy", ours, theirs, rtol=1e-9)


def test_a_verification_goes_back_into_the_site(tmp_path, capsys):
    site = fd.Site.load(DEMO)
    result = site.verify("notebooks/demo/verification.toml")
    calibrated = site.calibrated_by(result)
    flow = calibrated.evaluate(READINGS)
    assert flow.standard_uncertainty < site.evaluate(READINGS).standard_uncertainty

    # the record of the verification says the same
    record = tmp_path / "verification.json"
    result.record().save(record)
    for found in (fd.Record.load(record), record, str(record)):
        assert site.calibrated_by(found).text == calibrated.text
    with pytest.raises(fd.FlowdoubtError, match="record of an evaluation"):
        site.calibrated_by(flow.record())

    # and so does the command line, which does not write over what is there
    file = tmp_path / "calibrated.toml"
    arguments = ["verify", DEMO, "notebooks/demo/verification.toml", "--calibrated", str(file)]
    assert cli.main(arguments) == 0
    assert file.read_text() == calibrated.text
    assert fd.Site.load(file).evaluate(READINGS).estimate == flow.estimate
    assert cli.main(arguments) == 2
    assert "exists" in capsys.readouterr().err
    calibrated.save(file, overwrite=True)

    # the factors in the file are those of the result
    section = tomllib.loads(file.read_text())["in_situ_calibration"]
    points = section["factor_mounted_anew"]["point"]
    stated = [float(point["value"]) for point in points]
    expected = sorted(result.points, key=lambda point: point["flow_m3_h"])
    assert stated == pytest.approx([point["meter_factor"] for point in expected], rel=1e-9)
    assert dict(calibrated.choices)["in-situ calibration"].startswith("as installed")
    # nothing of the evaluation is lost on the way to an auditor
    kept = tmp_path / "run.json"
    flow.record().save(kept)
    assert fd.reproduce(kept)
