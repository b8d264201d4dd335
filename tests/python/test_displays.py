"""Whatever the package returns shows itself in a notebook."""

from __future__ import annotations

import inspect
from collections.abc import Iterator

import numpy as np
import pytest
from conftest import DEMO
from test_display import Cells

import flowdoubt as fd
from flowdoubt import _core

# what holds something on its way within the package
PRIVATE = {"Value", "TallyPlan", "Tally", "Tallied"}


def classes() -> Iterator[type]:
    modules = [own for name in fd.__all__ if inspect.ismodule(own := getattr(fd, name))]
    for module in (fd, _core, *modules):
        for own in vars(module).values():
            if not isinstance(own, type) or issubclass(own, BaseException):
                continue
            if own.__module__.startswith("flowdoubt") and own.__name__ not in PRIVATE:
                yield own


def test_every_class_has_a_display() -> None:
    found = set(classes())
    assert len(found) > 60
    missing = [one.__name__ for one in found if not hasattr(one, "_repr_html_")]
    assert not missing


def things() -> dict[str, object]:
    site = fd.Site.load(DEMO / "site.toml")
    evaluation = site.evaluate(DEMO / "readings.csv")
    inputs = {"a": fd.normal(1.0, 0.1), "b": fd.normal(2.0, 0.1)}
    both = fd.propagate(lambda x: {"sum": x["a"] + x["b"], "product": x["a"] * x["b"]}, inputs)
    points = [1.0, 2.0, 3.0, 4.0]
    line = fd.regression.straight_line(points, [1.1, 2.0, 3.1, 3.9])
    trials = evaluation.monte_carlo(2000)
    commissioning = site.commissioning(temperature="8 degC")
    return {
        "check of the sound speed": evaluation.sound_speed_check(),
        "check of the zero": evaluation.zero_check({"time_difference_ns": [0.1, 0.4, -0.2, 0.3]}),
        "validation": evaluation.validate(trials),
        "expanded": evaluation.expanded(0.95),
        "stress test": evaluation.stress_test(trials=1000),
        "reconciliation": evaluation.reconciled(),
        "second order": evaluation.second_order(),
        "low discrepancy": evaluation.low_discrepancy(64),
        "tallied": evaluation.monte_carlo(2000, keep=False),
        "material": fd.pipe.material("carbon steel"),
        "dimensions": fd.pipe.dimensions("ASME B36.10M", "6", "40"),
        "target": evaluation.target("1 %"),
        "input": fd.normal(1.0, 0.1),
        "set of inputs": fd.input_set(inputs),
        "estimates": both,
        "region": both.ellipsoidal_region(0.95),
        "box": both.rectangular_region(0.95),
        "line": line,
        "prediction": line.predict(2.5),
        "type A": fd.statistics.mean(points),
        "interval": fd.conformity.tolerance_interval(0.0, 1.0),
        "advice": fd.installation.recommended_orientation("single_bend"),
        "straight run": fd.installation.straight_run_in_practice("single_bend"),
        "commissioned": site.commissioned(commissioning.form()),
        "verification": fd.Verification.load(DEMO / "verification.toml"),
    }


def test_displays_say_something_and_are_well_formed() -> None:
    from test_worksheet import Tags

    for name, thing in things().items():
        page = thing._repr_html_()  # type: ignore[attr-defined]
        tags = Tags()
        tags.feed(page)
        assert not tags.open, name
        assert "object at 0x" not in page, name
        cells = Cells(page)
        told = [row for row in cells.rows if all(row)] or [cells.text]
        assert told and len(cells.text) > 12, name
        assert "nan" not in cells.text.lower().split(), name


def test_numbers_stand_beside_their_units() -> None:
    rows = {row[0]: row[1] for row in Cells(fd.pipe.material("copper")._repr_html_()).rows}
    assert rows["density"].split(" (")[0].endswith("kg/m\u00b3")
    # ASME B36.10M: 168.3 mm
    dimensions = fd.pipe.dimensions("ASME B36.10M", "6", "40")
    rows = {row[0]: row[1] for row in Cells(dimensions._repr_html_()).rows}
    assert rows["outside diameter"].startswith("0.1683 \N{PLUS-MINUS SIGN} ")
    assert rows["outside diameter"].endswith(" m")


def test_text_of_a_user_is_escaped() -> None:
    inputs = {"<b>a</b>": fd.normal(1.0, 0.1), "b": fd.normal(2.0, 0.1)}
    both = fd.propagate(lambda x: {"<i>sum</i>": x["b"] + x["<b>a</b>"], "b": x["b"]}, inputs)
    assert "<i>" not in both._repr_html_()
    assert "&lt;i&gt;sum&lt;/i&gt;" in both._repr_html_()


@pytest.mark.parametrize("values", [[1.0, 2.0], np.linspace(1.0, 3.0, 30)])
def test_long_arrays_are_not_written_out(values: object) -> None:
    line = fd.regression.straight_line([1.0, 2.0, 3.0], [1.1, 2.0, 3.1])
    assert len(line.predict(values)._repr_html_()) < 2000
