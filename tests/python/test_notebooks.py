"""Every notebook runs from top to bottom in a fresh kernel."""

from pathlib import Path

import nbformat
import pytest
from nbclient import NotebookClient

import flowdoubt as fd

NOTEBOOKS = sorted((Path(__file__).parents[2] / "notebooks").glob("*.ipynb"))


@pytest.mark.filterwarnings("ignore::DeprecationWarning", "ignore::ResourceWarning")
@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.stem)
def test_notebook_runs(path):
    notebook = nbformat.read(path, as_version=4)
    client = NotebookClient(
        notebook, timeout=300, resources={"metadata": {"path": str(path.parent)}}
    )
    client.execute()
    code_cells = [cell for cell in notebook.cells if cell.cell_type == "code"]
    assert code_cells
    assert all(cell.execution_count for cell in code_cells)


CELLS = {
    "wrong unit": ("fd.Site.from_toml(text.replace('8.74 mm', '8.74 kg'))", "8.74 kg"),
    "impossible pipe": (
        "fd.Site.from_toml(text.replace('8.74 mm', '8.74 m')).evaluate(readings)",
        "allowed: 0.0001 m to 0.5 m",
    ),
    "unknown key": ("fd.Site.from_toml(text.replace('roughness', 'rougness'))", "did you mean"),
    "missing column": (
        "fd.Site.from_toml(text).evaluate({'transit_time_us': [610.0, 610.1]})",
        "time_difference",
    ),
    "no such file": ("fd.Site.load('nowhere.toml')", "nowhere.toml"),
    "words for numbers": (
        "fd.Site.from_toml(text).evaluate({'transit_time_us': ['a', 'b']})",
        "transit_time_us: not a column of numbers",
    ),
    "after a function of the user": (
        "def mine():\n    return fd.water.density(-5.0)\n\nmine()",
        "temperature",
    ),
}


def test_wrong_cells_say_what_to_change_and_show_nothing_of_the_insides():
    """No traceback deeper than the call, and the kernel goes on."""
    new = nbformat.v4.new_code_cell
    site = NOTEBOOKS[0].parent / "demo/site.toml"
    first = (
        "import flowdoubt as fd\nfrom pathlib import Path\n"
        f"text = Path({str(site)!r}).read_text()\n"
        f"readings = {str(site.parent / 'readings.csv')!r}"
    )
    cells = [new(first), *(new(cell) for cell, _ in CELLS.values()), new("fd.__version__")]
    notebook = nbformat.v4.new_notebook(cells=cells)
    NotebookClient(notebook, timeout=60, allow_errors=True).execute()
    for (what, (_, words)), cell in zip(CELLS.items(), notebook.cells[1:-1], strict=True):
        (error,) = [output for output in cell.outputs if output.output_type == "error"]
        assert words in error.evalue, what
        shown = "\n".join(error.traceback)
        assert words in shown, what
        assert "python/flowdoubt" not in shown and "site-packages" not in shown, what
        assert what != "after a function of the user" or "mine()" in shown
    assert fd.__version__ in notebook.cells[-1].outputs[0]["data"]["text/plain"]


def test_there_are_notebooks():
    assert NOTEBOOKS
