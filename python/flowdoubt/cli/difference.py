"""The command ``difference``: two flows, and how sure it is that they differ."""

from __future__ import annotations

import argparse
import json

from flowdoubt._core import CAUTIONS
from flowdoubt.cli.output import DONE, say
from flowdoubt.site import Record
from flowdoubt.site import difference as difference_of


def add(parsers: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command to those there are."""
    command = parsers.add_parser(
        "difference",
        help="the second of two recorded flows less the first, with what they have in common",
        epilog=CAUTIONS,
    )
    command.add_argument("first", help="a record that evaluate --record wrote")
    command.add_argument("second", help="another")
    command.add_argument(
        "--same",
        required=True,
        choices=["mounting", "meter_and_pipe", "pipe", "meter", "nothing"],
        help="what was the same: the mounting (two periods), meter and pipe (mounted anew), the "
        "pipe (two meters), the meter (two pipes) or nothing",
    )
    command.add_argument(
        "--also", action="append", default=[], metavar="INPUT", help="is common besides; repeatable"
    )
    command.add_argument(
        "--but", action="append", default=[], metavar="INPUT", help="is not common; repeatable"
    )
    command.add_argument("--json", action="store_true", help="print JSON, all numbers in SI")
    command.set_defaults(run=run)


def run(arguments: argparse.Namespace) -> int:
    """Subtract one flow from another."""
    found = difference_of(
        Record.load(arguments.first),
        Record.load(arguments.second),
        same=arguments.same,
        also=arguments.also,
        but=arguments.but,
    )
    if arguments.json:
        say(json.dumps(found.to_dict(), indent=2))
    else:
        say(found.in_words)
        say(f"\n{found.budget}\n\n{CAUTIONS}")
    return DONE
