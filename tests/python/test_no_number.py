"""Where there is no number to give, the argument is refused by its name."""

import math

import numpy as np
import pytest

import flowdoubt as fd
from flowdoubt.conformity import SpecificRisks

JOINT = fd.propagate(
    lambda x: {"sum": x["a"] + x["b"], "difference": x["a"] - x["b"]},
    {"a": fd.normal(1.0, 0.1), "b": fd.normal(2.0, 0.1)},
)


@pytest.mark.parametrize(
    ("call", "field"),
    [
        (lambda: SpecificRisks.of(2.0), "conformance_probability"),
        (lambda: SpecificRisks.of(math.nan), "conformance_probability"),
        (lambda: JOINT.ellipsoidal_region().contains(np.array([1.0])), "y"),
        (lambda: JOINT.ellipsoidal_region().contains(np.array([1.0, math.nan])), "y[1]"),
        (lambda: JOINT.rectangular_region().contains(np.array([1.0, 2.0, 3.0])), "y"),
        (lambda: fd.verification.diverter_error(0.0, 1.0, 1.0, 1.0, 20), "duration"),
        (lambda: fd.verification.diverter_error(600.0, 5999.8, 600.0, 5996.0, 1), "bursts"),
        (lambda: fd.verification.buoyancy_factor(998.0, weight_density=math.nan), "weight_density"),
        (lambda: fd.verification.buoyancy_factor(0.0), "liquid_density"),
        (
            lambda: fd.installation.path_error(
                "single_bend", straight_run=10.0, orientation=math.nan
            ),
            "orientation",
        ),
        (
            lambda: fd.installation.factor("single_bend", straight_run=10.0, orientation=math.inf),
            "orientation",
        ),
        (
            lambda: fd.glycol.relative_uncertainty("sound_speed", "ethylene glycol", 293.15, 0.3),
            "quantity",
        ),
        (lambda: fd.propagate(lambda x: {}, {"a": fd.normal(1.0, 0.1)}), "model"),
        (lambda: fd.monte_carlo(lambda x: (), {"a": fd.normal(1.0, 0.1)}), "model"),
    ],
)
def test_what_has_no_number_is_refused(call, field):
    with pytest.raises(fd.FlowdoubtError) as caught:
        call()
    assert caught.value.field == field and caught.value.allowed


def test_an_exact_line_has_no_correlation():
    line = fd.regression.straight_line([1.0, 2.0, 3.0], [2.0, 4.0, 6.0])
    inputs, correlations = fd.regression.as_inputs(line)
    y = fd.propagate(lambda p: p["intercept"] + p["slope"], inputs, correlations)
    assert y.estimate == pytest.approx(2.0)
    with pytest.raises(fd.InputError, match="another name"):
        fd.regression.as_inputs(line, slope="intercept")
