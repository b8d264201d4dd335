"""The rooms of the package: who may use whom, and what is seen from outside."""

import ast
import graphlib
import inspect
import re
from pathlib import Path

import pytest

import flowdoubt as fd

DEMO = Path(__file__).parents[2] / "notebooks" / "demo"
PACKAGE = Path(fd.__file__).parent
BINDINGS = Path(__file__).parents[2] / "src" / "python"

# each may use those before it; topics (`water.py`, `statistics.py`) may use models and those below
ORDER = [
    "edge",
    "display",
    "sheet",
    "models",
    "site",
    "exports",
    "forms",
    "plots",
    "reports",
    "cli",
]


@pytest.fixture(scope="module")
def site():
    return fd.Site.load(DEMO / "site.toml")


@pytest.fixture(scope="module")
def evaluation(site):
    return site.evaluate(DEMO / "readings.csv")


def modules():
    """Every module of the package with the modules of it that it uses, wherever in it."""
    found = {}
    for path in PACKAGE.rglob("*.py"):
        parts = ("flowdoubt", *path.relative_to(PACKAGE).with_suffix("").parts)
        found[".".join(part for part in parts if part != "__init__")] = path
    uses = {}
    for name, path in found.items():
        uses[name] = set()
        for node in ast.walk(ast.parse(path.read_text())):
            if isinstance(node, ast.ImportFrom) and node.module:
                each = (f"{node.module}.{own.name}" for own in node.names)
                uses[name] |= {own if own in found else node.module for own in each}
            elif isinstance(node, ast.Import):
                uses[name] |= {own.name for own in node.names}
        # `from flowdoubt import _core` is the core and not the package
        uses[name] = {own for own in uses[name] if own in found} - {"flowdoubt", name}
    return uses


def test_modules_are_found():
    uses = modules()
    assert "flowdoubt.edge.errors" in uses["flowdoubt.site.site"]
    assert len(uses) > 60


def test_no_module_uses_one_that_uses_it():
    graphlib.TopologicalSorter(modules()).prepare()


def room(module):
    return module.split(".")[1] if module.count(".") > 0 else ""


def test_rooms_use_those_below_them_only():
    for module, used in modules().items():
        own = room(module)
        if own not in ORDER:
            continue
        above = {other for other in map(room, used) if other in ORDER[ORDER.index(own) + 1 :]}
        assert not above, f"{module} uses {above}"


def test_the_core_calls_no_module_of_the_package():
    for path in BINDINGS.glob("*.rs"):
        called = re.findall(r'import\("([a-z._]+)"\)', path.read_text())
        assert not [name for name in called if name.startswith("flowdoubt")], path.name


def test_what_is_listed_is_public():
    for owner in [fd, *filter(inspect.ismodule, (getattr(fd, name) for name in fd.__all__))]:
        assert dir(owner) == sorted(owner.__all__)


def test_classes_of_users_have_only_what_is_documented(evaluation, site):
    plumbing = re.compile(r"core|tall(y|ied)|kept|^columns_of|handed|token")
    for own in (evaluation, site, evaluation.budget, evaluation.monte_carlo(1000)):
        assert [name for name in dir(own) if name[0] != "_" and plumbing.search(name)] == []


def test_objects_are_of_the_classes_of_users(evaluation, site):
    for own in (evaluation, site, evaluation.budget, evaluation.record()):
        assert type(own) is getattr(fd, type(own).__name__)
    reconciled = evaluation.reconciled()
    assert (type(reconciled.before), type(reconciled.after)) == (fd.Budget, fd.Evaluation)


def test_classes_of_the_core_are_made_by_the_core():
    for name in ("Budget", "Plan", "Record", "Trials", "VerificationResult"):
        try:
            getattr(fd, name)(3)
        except fd.InputError as error:
            assert str(error).startswith(f"{name}: found 3; allowed: ")
        else:
            raise AssertionError(name)
