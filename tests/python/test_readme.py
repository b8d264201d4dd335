"""Every block of the README and of the pages of the book runs, in order, each page by itself."""

import os
import re
import shlex
from pathlib import Path

import matplotlib
import pandas as pd
import pytest
from conftest import DEMO, ROOT

import flowdoubt as fd
from flowdoubt import cli

BLOCK = re.compile(r"^```(python|sh)\n(.*?)^```$", re.MULTILINE | re.DOTALL)
# what sets up and tests the repository itself
OF_THE_REPOSITORY = ("python3 -m venv", "bash tests/", "cargo ", "python benches/")
README = (ROOT / "README.md").read_text()
# what the registries of packages show, where no link within the repository leads anywhere
REGISTRY = ROOT / "notebooks/embed/registry.md"
PAGES = {
    page.name: page.read_text()
    for page in (ROOT / "README.md", REGISTRY, *sorted((ROOT / "notebooks").glob("*.md")))
}
WITH_BLOCKS = [name for name, text in PAGES.items() if BLOCK.search(text)]


@pytest.fixture
def workplace(tmp_path, monkeypatch):
    """A folder with what the pages take for granted: the demonstration and a user's files."""
    monkeypatch.chdir(tmp_path)
    os.symlink(ROOT / "notebooks", "notebooks")
    readings = pd.read_csv(DEMO / "readings.csv")
    Path("zero.csv").write_text("time_difference_ns\n0.1\n0.3\n-0.1\n0.2\n0.15\n")
    for name, sign in (("a", 1), ("b", -1), ("a2", 1)):
        own = readings[["time_difference_ns"]] * sign
        own.to_csv(f"{name}.csv", index=False)
    for name in ("log.csv", "readings.csv"):
        readings.to_csv(name, index=False)
    readings.assign(state="ok", quality=70).to_csv("log_with_states.csv", index=False)
    text = (DEMO / "site.toml").read_text()
    Path("site.toml").write_text(text)
    Path("folder").mkdir()
    Path("folder/plant.toml").write_text(text)
    readings.to_csv("folder/plant.csv", index=False)
    site = fd.Site.from_toml(text).evaluate(DEMO / "readings.csv")
    site.record(site.monte_carlo(10_000)).save("run.json")


def commands(block):
    """Return the commands of a block, comments left out and broken lines joined."""
    lines = block.replace("\\\n", " ").splitlines()
    return [line for line in lines if line.strip() and not line.startswith("#")]


@pytest.mark.usefixtures("workplace")
@pytest.mark.parametrize("page", WITH_BLOCKS)
def test_blocks_run_in_order(page):
    matplotlib.use("Agg")
    names = {}
    for kind, block in BLOCK.findall(PAGES[page]):
        if kind == "python":
            exec(compile(block, page, "exec"), names)
            continue
        for command in commands(block):
            if command.startswith(OF_THE_REPOSITORY):
                continue
            program, *arguments = shlex.split(command, comments=True)
            assert program == "flowdoubt"
            assert cli.main(arguments) in (cli.DONE, cli.NO), command


def test_pages_have_blocks():
    assert len(WITH_BLOCKS) > 8
    assert sum(len(BLOCK.findall(text)) for text in PAGES.values()) > 25


def test_readme_shows_what_is_printed(capsys):
    (shown,) = re.findall(r"^```text\n(.*?)^```$", README, re.MULTILINE | re.DOTALL)
    command = re.search(r"flowdoubt (evaluate .*)", README).group(1)
    assert cli.main(shlex.split(command)) == cli.DONE
    assert capsys.readouterr().out.startswith(shown)


def test_rust_of_the_readme_is_the_example_of_the_crate():
    """Which is run with the documentation of the crate."""
    (shown,) = re.findall(r"^```rust\n(.*?)^```$", README, re.MULTILINE | re.DOTALL)
    documentation = re.findall(r"^//! ?(.*)$", (ROOT / "src/lib.rs").read_text(), re.MULTILINE)
    assert shown in "\n".join(line for line in documentation if not line.startswith("# "))


def test_the_readme_is_short():
    assert len(README.splitlines()) <= 100
    assert len((ROOT / "DEVELOPERS.md").read_text().splitlines()) <= 150


@pytest.mark.parametrize(
    "name", sorted(set(re.findall(r"\bfd\.([a-z_]+)", "\n".join(PAGES.values()))))
)
def test_names_exist(name):
    assert hasattr(fd, name)


def test_plots_come_with_the_package():
    assert callable(fd.plots.contributions) and "plots" in dir(fd)
    with pytest.raises(AttributeError, match="no attribute 'plot'"):
        _ = fd.plot


def test_the_registry_page_needs_nothing_that_a_registry_has_not():
    text = REGISTRY.read_text()
    assert "](" not in text and "<img" not in text


def test_versions_agree():
    """The version of the crate, of its citation, and of the newest part of the changelog."""
    cargo = re.search(r'^version = "(.*)"$', (ROOT / "Cargo.toml").read_text(), re.MULTILINE)
    citation = re.search(r"^version: (.*)$", (ROOT / "CITATION.cff").read_text(), re.MULTILINE)
    changelog = (ROOT / "CHANGELOG.md").read_text()
    released = re.search(r"^## (\d[^ ]*), (\d{4}-\d\d-\d\d)$", changelog, re.MULTILINE)
    assert cargo.group(1) == citation.group(1) == released.group(1) == fd.__version__
    assert f'date-released: "{released.group(2)}"' in (ROOT / "CITATION.cff").read_text()
