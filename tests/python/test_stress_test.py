"""What an interval holds if one statement is wrong."""

import numpy as np
import pandas as pd
import pytest
from scipy.stats import norm

import flowdoubt as fd


def test_of_an_evaluation(demo):
    found = demo.stress_test({"pipe.wall": "-2 mm", "path.wedge_angle": "0.5 deg"}, trials=20_000)
    assert found.coverage_probability == 0.95
    assert found.trials == 20_000
    assert found.standard_error == pytest.approx(np.sqrt(0.95 * 0.05 / 20_000))
    assert found.held > 0.94
    table = pd.DataFrame(found.stresses).set_index("input")
    assert table.loc["pipe.wall", ["off_by", "unit"]].tolist() == [pytest.approx(-2.0), "mm"]
    assert np.isnan(table["in_standard_uncertainties"]["path.wedge_angle"])
    # 2 mm less of wall are 4 mm more of a bore of 388 mm, 2.1 % of its area; the time in the
    # liquid is some 2 us longer of 580, which takes 0.4 % off the velocity
    assert table["relative_error"]["pipe.wall"] == pytest.approx(-0.0172, abs=0.001)
    expanded = demo.expanded().expanded_uncertainty / demo.estimate
    u = demo.standard_uncertainty / demo.estimate
    # roughly normal
    off = abs(table["relative_error"]["pipe.wall"])
    roughly = norm.cdf((expanded - off) / u) - norm.cdf((-expanded - off) / u)
    assert table["held"]["pipe.wall"] == pytest.approx(roughly, abs=0.05)
    assert "if pipe.wall is off by -2.0 mm" in repr(found)


def test_before_anybody_goes_there():
    site = fd.Site.load("notebooks/demo/site.toml")
    plan = site.plan(["500 m3/h", "1000 m3/h"], "8 degC")
    found = plan.stress_test(1, trials=5000)
    assert found.stresses[0]["input"] == "installation.factor"
    assert found.stresses[0]["held"] < found.held
    with pytest.raises(IndexError):
        plan.stress_test(9)
    with pytest.raises(fd.InputError, match=r"pipe\.wall"):
        plan.stress_test(0, {"pipe.wal": "1 mm"})
