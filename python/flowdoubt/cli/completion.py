"""The command ``completion``: what a shell needs to complete names of commands and options."""

from __future__ import annotations

import argparse
from typing import Any

from flowdoubt.cli.output import DONE

# arguments that are files or folders, by name
_FILES = {
    *("site", "readings", "record", "verification", "log", "first", "second", "instruments"),
    *("zero", "worksheet", "csv", "output", "sheet", "page", "form", "read", "save", "calibrated"),
    *("trial_run", "head", "letterhead"),
}
_FOLDERS = {"folder", "readings_below"}


def add(
    parsers: argparse._SubParsersAction[argparse.ArgumentParser], parser: argparse.ArgumentParser
) -> None:
    """Add the command to those there are of a parser, which it completes."""
    command = parsers.add_parser(
        "completion",
        help="print what a shell needs to complete commands, options and names of files",
        description='Use: eval "$(flowdoubt completion bash)" in the start file of the shell; for '
        "zsh a file _flowdoubt in a folder of $fpath. Needs the package shtab: "
        "pip install 'flowdoubt[completion]'.",
    )
    command.add_argument("shell", choices=["bash", "zsh", "tcsh"], help="the shell")
    command.set_defaults(run=run, parser=parser)


def run(arguments: argparse.Namespace) -> int:
    """Print the script of a shell."""
    import shtab

    _mark_files(arguments.parser, shtab.FILE, shtab.DIRECTORY)
    print(shtab.complete(arguments.parser, shell=arguments.shell))
    return DONE


def _mark_files(parser: argparse.ArgumentParser, file: Any, folder: Any) -> None:
    """Tell which arguments are names of files, of each command."""
    for action in parser._actions:
        if isinstance(action, argparse._SubParsersAction):
            for command in action.choices.values():
                _mark_files(command, file, folder)
        elif action.nargs != 0 and action.choices is None:
            found = file if action.dest in _FILES else folder if action.dest in _FOLDERS else None
            if found is not None:
                action.complete = found  # type: ignore[attr-defined]
