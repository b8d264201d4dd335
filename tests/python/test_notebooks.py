"""Every notebook runs from top to bottom in a fresh kernel."""

from pathlib import Path

import nbformat
import pytest
from nbclient import NotebookClient

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


def test_there_are_notebooks():
    assert NOTEBOOKS
