"""What the Python tests share."""

import json
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
def plain_text():
    """The demonstration as a plain site, as the Rust tests make it: no fitting, nothing covered."""
    return (ROOT / "tests" / "plain_site.toml").read_text()


@pytest.fixture(scope="session")
def plain_file(plain_text, tmp_path_factory):
    file = tmp_path_factory.mktemp("plain") / "site.toml"
    file.write_text(plain_text)
    return str(file)


@pytest.fixture(scope="session")
def demo():
    return fd.Site.load(DEMO / "site.toml").evaluate(DEMO / "readings.csv")


@pytest.fixture(scope="session")
def as_printed():
    """Compare with the table of published values, each to the tolerance stated there."""
    rows = json.loads((ROOT / "tests" / "published" / "table.json").read_text())["rows"]
    by_id = {row["id"]: row for row in rows}

    def check(name, found):
        row = by_id[name]
        distance = abs(found - row["published"])
        assert distance <= row["tolerance"] * (1 + 1e-9), f"{name}: {found}, printed {row}"

    return check
