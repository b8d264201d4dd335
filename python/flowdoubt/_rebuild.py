"""Functions by which pickle makes objects of the extension module again.

They stand here under names that do not change, since pickled objects name them.
"""

from flowdoubt import _flowdoubt


def tally_plan(data: bytes) -> _flowdoubt.TallyPlan:
    """Return the plan of a run."""
    return _flowdoubt.TallyPlan.from_bytes(data)


def input_set(text: str) -> _flowdoubt.InputSet:
    """Return a set of inputs."""
    return _flowdoubt.InputSet.from_text(text)


def one_input(text: str) -> _flowdoubt.Input:
    """Return an input."""
    return _flowdoubt.Input.from_text(text)


def site(named: tuple[str, str]) -> _flowdoubt.Site:
    """Return a site from the name and the text of its file."""
    file, text = named
    return _flowdoubt.Site.from_toml(text, file)


def evaluation(text: str) -> _flowdoubt.Evaluation:
    """Return an evaluation, computed anew from site and readings."""
    return _flowdoubt.Evaluation.from_text(text)
