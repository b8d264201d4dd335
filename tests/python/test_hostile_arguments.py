"""Every public entry with arguments of every wrong kind: a result, or an error that helps."""

import inspect

import numpy as np
import pytest
from long_work import DEMO

import flowdoubt as fd
from flowdoubt.plots.drawing import apart_from_pyplot

HOSTILE = {
    "nothing": None,
    "empty text": "",
    "a lone surrogate": "\ud800",
    "text with a zero byte": "a\0b",
    "bytes": b"x",
    "a negative number": -1,
    "a huge number": 2**70,
    "no number": float("nan"),
    "an infinite number": float("inf"),
    "a truth value": True,
    "an empty list": [],
    "an empty dictionary": {},
    "a list of a surrogate": ["\ud800"],
    "a dictionary of surrogates": {"\ud800": "\ud800"},
    "an object": object(),
    "three dimensions": np.ones((2, 2, 2)),
    "an array without values": np.empty((0, 3)),
    "complex numbers": np.array([1j]),
    "an array of objects": np.array([None, "a"], dtype=object),
}

# what stands beside a hostile argument, by its name; otherwise 1.0
PLAUSIBLE = {
    "estimate": 1.0,
    "inputs": {"a": fd.normal(1.0, 0.1), "b": fd.normal(2.0, 0.1)},
    "law": "power",
    "model": lambda x: x["a"] * x["b"],
    "readings": [1.0, 2.0, 3.0],
    "reynolds": 1e5,
    "temperature": 293.15,
    "trials": 1000,
    "x": [1.0, 2.0, 3.0],
    "y": [1.0, 2.0, 3.1],
}

# a bar on the screen, and what would only take long
LEFT_OUT = {"progress"}


def results():
    site = fd.Site.load(DEMO / "site.toml")
    evaluation = site.evaluate(str(DEMO / "readings.csv"))
    verified = site.verify(DEMO / "verification.toml")
    plan = site.plan(["900 m3/h"], ["8 degC"], target="1 %")
    points = [1.0, 2.0, 3.0]
    yield from (site, evaluation, verified, plan, plan.targets[0], evaluation.budget)
    yield from (evaluation.monte_carlo(1000), evaluation.monte_carlo(1000, keep=False))
    yield from (evaluation.record(), evaluation.record().reproduce(), evaluation.worksheet)
    yield from (evaluation.low_discrepancy(64), evaluation.second_order())
    yield from (evaluation.stress_test(trials=1000), verified.monte_carlo(1000))
    yield from (site.evaluate_series(str(DEMO / "readings.csv")), fd.normal(1.0, 0.1))
    yield from (site.mark_out(temperature="8 degC"), fd.input_set(PLAUSIBLE["inputs"]))
    commissioning = site.commissioning(temperature="8 degC")
    yield from (commissioning, site.commissioned(commissioning.form()))
    yield from (fd.statistics.mean(points), fd.regression.straight_line(points, [1.0, 2.0, 3.1]))
    yield fd.conformity.tolerance_interval(0.0, 1.0)


def entries():
    """All public functions and methods by name, with the names of their arguments."""
    rooms = [fd, *filter(inspect.ismodule, (getattr(fd, key) for key in fd.__all__))]
    found = {}
    for owner in [*rooms, *results()]:
        name = owner.__name__ if inspect.ismodule(owner) else type(owner).__name__
        for key in owner.__all__ if inspect.ismodule(owner) else dir(owner):
            if key.startswith("_"):
                continue
            own = getattr(owner, key)
            if callable(own) and not (isinstance(own, type) and issubclass(own, BaseException)):
                found[f"{name}.{key}"] = own
    return found


ENTRIES = entries()


def outcome(entry, arguments):
    """Whether the call has a result or an error that helps; otherwise what was raised."""
    positional = [
        arguments.pop(name)
        for name, own in inspect.signature(entry).parameters.items()
        if own.kind == own.POSITIONAL_ONLY and name in arguments
    ]
    try:
        entry(*positional, **arguments)
    except fd.FlowdoubtError:
        return None
    except TypeError as error:
        # of making an object Python tells
        return None if isinstance(entry, type) else error
    except IndexError as error:
        # the number of a point or run that there is not
        return None if "; allowed: " in str(error) else error
    except Exception as error:
        return error
    return None


@pytest.mark.filterwarnings("ignore")
@pytest.mark.parametrize("name", ENTRIES)
def test_whatever_is_handed_over_the_answer_helps(name, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)  # a name may be taken for that of a file to be written
    entry = ENTRIES[name]
    try:
        parameters = inspect.signature(entry).parameters.values()
    except ValueError:
        pytest.skip("a class that is not made by calling it")
    variable = (inspect.Parameter.VAR_POSITIONAL, inspect.Parameter.VAR_KEYWORD)
    parameters = [own for own in parameters if own.kind not in variable]
    needed = [own.name for own in parameters if own.default is own.empty]
    for own in parameters:
        if own.name in LEFT_OUT:
            continue
        for what, hostile in HOSTILE.items():
            beside = {key: PLAUSIBLE.get(key, 1.0) for key in needed}
            for arguments in (dict.fromkeys(needed, hostile), beside):
                with apart_from_pyplot():
                    raised = outcome(entry, arguments | {own.name: hostile})
                assert raised is None, f"{own.name}: {what}: {raised!r}"


def test_entries_are_found():
    # a test that goes through nothing passes
    assert len(ENTRIES) > 300
    for name in ("flowdoubt.monte_carlo", "Evaluation.monte_carlo", "Site.plan", "Budget.result"):
        assert name in ENTRIES


def test_what_does_not_fit_is_shown_with_what_does():
    with pytest.raises(
        fd.InputError, match=r"inputs=list .*allowed: .*inputs: Mapping\[str, Input\]"
    ):
        fd.propagate(lambda x: x["a"], [fd.normal(1.0, 0.1)])
    evaluation = fd.Site.load(DEMO / "site.toml").evaluate(str(DEMO / "readings.csv"))
    with pytest.raises(fd.InputError, match=r"trials=-1, .*negative"):
        evaluation.stress_test(trials=-1, seed=1)
    with pytest.raises(fd.InputError, match=r"unit='\\ud800'") as raised:
        evaluation.value("\ud800")
    assert (raised.value.code, raised.value.field) == ("wrong-type", "Evaluation.value")
    str(raised.value).encode()  # can be printed


def test_errors_of_our_own_making_stay_as_they_are():
    with pytest.raises(fd.RangeError, match="trials"):
        fd.monte_carlo(lambda x: x["a"], {"a": fd.normal(1.0, 0.1)}, trials=0)

    def broken(x):
        raise KeyError("mine")

    with pytest.raises(fd.ModelError) as raised:
        fd.propagate(broken, {"a": fd.normal(1.0, 0.1)})
    assert isinstance(raised.value.__cause__, KeyError)


@pytest.mark.parametrize("given", ["20", None, ["20"], [None, 290.0]])
def test_text_and_none_are_no_numbers(given):
    """Though numpy reads them as numbers."""
    with pytest.raises(fd.InputError, match="not numbers"):
        fd.water.density(given)


def test_lists_are_taken_where_arrays_are():
    evaluation = fd.Site.load(DEMO / "site.toml").evaluate(DEMO / "readings.csv")
    assert evaluation.velocity_at([0.0]).shape == (1,)
    assert evaluation.profile_factor_at([100_000, 1e6])[0].shape == (2,)
    both = fd.propagate(lambda x: {"a": x["a"], "b": x["b"]}, dict.fromkeys("ab", fd.normal(1, 1)))
    assert both.ellipsoidal_region(0.95).contains([1, 1.5])


def test_the_error_says_what_a_parameter_is():
    evaluation = fd.Site.load(DEMO / "site.toml").evaluate(DEMO / "readings.csv")
    with pytest.raises(fd.InputError, match=r"found coverage_probability='95 %'.*From above 0"):
        evaluation.expanded("95 %")
    with pytest.raises(fd.InputError, match=r"most: found -1; allowed: a whole number, 1"):
        fd.plots.contributions(evaluation.budget, most=-1)
    with pytest.raises(TypeError, match="unexpected keyword"):
        evaluation.expanded(probability=0.95)
