"""What the generators of this folder share: writing their files, or checking them.

A generator calls `write_or_check` with what it computed. With ``--check`` on the command line the
committed file is compared instead, and the exit status is 1 if anything differs beyond rounding.
"""

import json
import os
import re
import sys
from math import isclose
from pathlib import Path

NUMBER = re.compile(r"-?\d+(?:\.\d+)?(?:e[-+]?\d+)?")


def one_point_a_line(data, indent=2, lists=False):
    """JSON text with every innermost object, and list if asked for, on one line."""

    def joined(match):
        return match[0][0] + " ".join(match[0][1:-1].split()) + match[0][-1]

    text = json.dumps(data, indent=indent)
    if lists:
        text = re.sub(r"\[[^\[\]{}]*\]", joined, text)
    return re.sub(r"\{[^{}]*\}", joined, text) + "\n"


def same(old, new, relative, absolute):
    """Equal texts, but for numbers that agree within one of the tolerances."""
    return NUMBER.sub("#", old) == NUMBER.sub("#", new) and all(
        isclose(float(a), float(b), rel_tol=relative, abs_tol=absolute)
        for a, b in zip(NUMBER.findall(old), NUMBER.findall(new), strict=True)
    )


def write_or_check(path, text, *, relative, absolute=0.0):
    """Write the text, or compare it with the file under ``--check``."""
    if "GOLDEN_OUTPUTS" in os.environ:
        with Path(os.environ["GOLDEN_OUTPUTS"]).open("a") as said:
            said.write(f"{path.resolve()}\n")
    if "--check" not in sys.argv[1:]:
        path.write_text(text)
    elif not same(path.read_text(), text, relative, absolute):
        sys.exit(f"{path} differs from its generator")
