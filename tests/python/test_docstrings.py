"""Everything that is public says what it is."""

import ast
import builtins
import doctest
import inspect
from pathlib import Path

import pytest
from numpydoc.docscrape import NumpyDocString

import flowdoubt as fd

MODULES = [fd, *filter(inspect.ismodule, (getattr(fd, name) for name in fd.__all__))]


def documented(owner):
    """What is public in a module, and in the classes that it is open with."""
    for name in owner.__all__:
        own = getattr(owner, name)
        yield f"{owner.__name__}.{name}", own
        if not isinstance(own, type) or issubclass(own, BaseException):
            continue
        for key in filter(lambda key: not key.startswith("_"), dir(own)):
            member = inspect.getattr_static(own, key)
            yield f"{own.__name__}.{key}", getattr(member, "__func__", member)


def test_everything_public_has_a_docstring():
    found = {name: own for module in MODULES for name, own in documented(module)}
    assert len(found) > 600, "the names were found"
    plain = (str, int, float, tuple, list, dict, frozenset)
    missing = [
        name
        for name, own in found.items()
        if not isinstance(own, plain) and not inspect.getdoc(own)
    ]
    assert missing == []


def core_methods_without_result():
    """Methods of the core that the stub annotates with None; the core itself has no annotations."""
    stub = ast.parse(Path(fd.__file__).with_name("_core.pyi").read_text())
    return {
        f"{owner.name}.{method.name}"
        for owner in stub.body
        if isinstance(owner, ast.ClassDef)
        for method in owner.body
        if isinstance(method, ast.FunctionDef)
        and isinstance(method.returns, ast.Constant)
        and method.returns.value is None
    }


def is_of_the_package(own):
    """Whether a function was written here and not inherited from elsewhere."""
    if not callable(own) or isinstance(own, type):
        return False
    # static methods of the core name no module
    home = getattr(own, "__objclass__", own).__module__ or "flowdoubt"
    return home.startswith("flowdoubt")


def public_functions():
    """What is public and was written here, by name."""
    found = {name: own for module in MODULES for name, own in documented(module)}
    functions = {name: own for name, own in found.items() if is_of_the_package(own)}
    assert len(functions) > 250, "the functions were found"
    return functions


def lacking(name, own, resultless):
    """What the sections of a docstring lack, or have too much."""
    doc = NumpyDocString(inspect.getdoc(own))
    described = [n.strip().lstrip("*") for p in doc["Parameters"] for n in p.name.split(",")]
    taken = [n for n in inspect.signature(own).parameters if n not in ("self", "cls")]
    if sorted(described) != sorted(taken):
        yield f"{name} takes {taken} and describes {described}"
    returned = inspect.signature(own).return_annotation
    if returned not in (None, "None") and name not in resultless and not doc["Returns"]:
        yield f"{name} does not say what it returns"


def test_functions_describe_each_parameter_and_what_they_return():
    resultless = core_methods_without_result()
    functions = public_functions()
    gaps = [gap for name, own in functions.items() for gap in lacking(name, own, resultless)]
    assert gaps == []


# These fail on nothing that a user gives.
CANNOT_FAIL = {
    # a choice of units for what is there already
    "Budget.columns",
    "Plan.rows",
    "PlanComparison.rows",
    "Series.columns",
    "Series.periods",
    "Series.to_csv",
    "SiteTable.columns",
    "SiteTable.to_csv",
    # any interval of measured values has its risks
    "ItemsAndMeasurement.global_risks",
}


def raised(own):
    """The exceptions that a docstring names."""
    return [entry.type for entry in NumpyDocString(inspect.getdoc(own))["Raises"]]


def test_functions_that_can_fail_say_how():
    taking = {
        name: own
        for name, own in public_functions().items()
        if set(inspect.signature(own).parameters) - {"self", "cls"}
    }
    silent = {name for name, own in taking.items() if not raised(own)}
    assert sorted(silent - CANNOT_FAIL) == []
    assert sorted(CANNOT_FAIL - silent) == [], "exists, takes parameters and names no exception"


def test_exceptions_that_are_named_exist():
    unknown = {
        f"{name}: {kind}"
        for name, own in public_functions().items()
        for kind in raised(own)
        if not hasattr(fd, kind) and not hasattr(builtins, kind)
    }
    assert unknown == set()


def test_what_takes_another_package_says_so():
    others = ("to_pandas", "to_polars", "to_pint")
    needing = {
        name: own
        for name, own in public_functions().items()
        if name.rpartition(".")[2] in others or name.startswith("flowdoubt.plots.")
    }
    assert len(needing) > 25, "they were found"
    assert [n for n, own in needing.items() if "ModuleNotFoundError" not in raised(own)] == []


# Makers of the core that functions of the package call, which have examples.
MADE_BY_FUNCTIONS = {
    "Autocorrelated.of",
    "Commissioned.taken_over",
    "Input.of_distribution",
    "Input.of_expanded_uncertainty",
    "Input.of_half_width",
    "Input.of_readings",
    "Input.of_standard_uncertainty",
    "InputSet.joint_readings",
    "InputSet.multivariate_normal",
    "OneWay.of",
    "OutlierTest.of",
    "Permissible.about",
    "Pooled.of",
    "RandomEffects.of",
    "SpecificRisks.of",
    "TypeA.from_statistics",
    "TypeA.of",
    "WeightedMean.of",
}


def test_functions_have_an_example():
    without = {name for name, own in public_functions().items() if not has_example(own)}
    assert without == MADE_BY_FUNCTIONS


def has_example(own):
    return ">>>" in (inspect.getdoc(own) or "")


def of_the_core(own):
    """Whether doctest does not find a function by itself, since it is written in Rust."""
    return not inspect.isfunction(inspect.unwrap(own)) and has_example(own)


CORE = {name: own for name, own in public_functions().items() if of_the_core(own)}


@pytest.mark.parametrize("name", CORE)
def test_examples_of_the_core_are_true(name):
    text = inspect.getdoc(CORE[name])
    parser, runner = doctest.DocTestParser(), doctest.DocTestRunner(verbose=False)
    told = []
    runner.run(parser.get_doctest(text, {}, name, None, 0), out=told.append)
    assert told == []
