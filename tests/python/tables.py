"""Comparisons with values from elsewhere, each a row of a page of the book.

A comparison asserts all its values; then its row must stand on the page as it is, or is put there
when ``FLOWDOUBT_WRITE_TABLES`` is set. So no figure on the page is typed by hand, and none is older
than the tests.
"""

import os
import sys
from pathlib import Path

import numpy as np

HERE = Path(__file__).parent
PAGE = HERE.parents[1] / "notebooks" / "checks_in_python.md"


def against(what, source, found, expected, *, rtol=None, atol=None, noise=1e-12):
    """Assert that all values are those of a source, and that the page says how near they come.

    Parameters
    ----------
    what, source
        As they stand on the page; literals, so that `rows` can be traced to their tests.
    found, expected
        Numbers of one shape, or one number as what is expected of all.
    rtol, atol
        One of them: the tolerance in parts of each expected value, or in the unit of the values.
    noise
        Below it, the deviation hangs on the arithmetic and the release of the other package, and
        the page says no more than that it is below.
    """
    assert (rtol is None) != (atol is None), "one tolerance, relative or absolute"
    found, expected = np.asarray(found, float), np.asarray(expected, float)
    np.testing.assert_allclose(
        found, expected, rtol=rtol or 0, atol=atol or 0, equal_nan=False, err_msg=what
    )
    deviations = np.abs(found - expected)
    if rtol is not None:
        # what is 0 must be met exactly
        expected = np.broadcast_to(expected, found.shape)
        deviations = deviations[expected != 0] / np.abs(expected[expected != 0])
    tolerance = rtol or atol
    largest = deviations.max()
    noise = min(noise, tolerance)
    deviation = f"< {_short(noise)}" if largest <= noise else _short(float(f"{largest:.1e}"))
    tolerance = f"{_short(tolerance)}, relative" if rtol is not None else _short(tolerance)
    test = Path(sys._getframe(1).f_code.co_filename).name
    _enter(what, source, f"{found.size} | {deviation} | {tolerance}", test)


def rows():
    """What, source and test of every row of the page."""
    for line in PAGE.read_text().splitlines():
        if line.endswith("` |"):
            what, source, *_, test = line.strip("| ").split(" | ")
            yield what, source, test.strip("`")


def _short(x):
    if x == 0 or 1e-3 <= x < 1e4:
        return np.format_float_positional(x, trim="-")
    return np.format_float_scientific(x, trim="-", exp_digits=1)


def _enter(what, source, cells, test):
    start = f"| {what} | {source} | "
    end = f" | `{test}` |"
    row = f"{start}{cells}{end}"
    lines = PAGE.read_text().splitlines()
    if "FLOWDOUBT_WRITE_TABLES" in os.environ:
        assert "PYTEST_XDIST_WORKER" not in os.environ, "one process writes: --numprocesses=0"
        table = [line for line in lines if line.endswith("` |")]
        head = lines[: len(lines) - len(table)]
        others = [line for line in table if not (line.startswith(start) and line.endswith(end))]
        PAGE.write_text("\n".join([*head, *sorted([*others, row], key=str.casefold)]) + "\n")
        return
    how = f"FLOWDOUBT_WRITE_TABLES=1 pytest tests/python/{test} writes it"
    assert row in lines, f"{PAGE.name} has no row\n{row}\n{how}"
