"""What the Python tests share."""

from pathlib import Path

import pytest

import flowdoubt as fd

ROOT = Path(__file__).parents[2]
DEMO = ROOT / "notebooks" / "demo"


@pytest.fixture(autouse=True)
def _from_the_root(monkeypatch):
    """Relative paths in examples start at the root of the repository."""
    monkeypatch.chdir(ROOT)


@pytest.fixture(scope="session")
def demo_text():
    return (DEMO / "site.toml").read_text()


@pytest.fixture(scope="session")
def demo():
    return fd.Site.load(DEMO / "site.toml").evaluate(DEMO / "readings.csv")
