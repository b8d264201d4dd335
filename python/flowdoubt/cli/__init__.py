"""The command line: ``flowdoubt evaluate site.toml readings.csv``, ``plan``, ``verify``.

Exit status: 0 done, and the answer is yes where one is asked for; 1 the answer is no (does not
reproduce, does not conform, a target cannot be reached); 2 it could not be done (bad input, output
that cannot be written); 3 the verification is too uncertain to decide; 4 a fault of this software,
with a traceback; 130 interrupted.
"""

from __future__ import annotations

import argparse
import io
import json
import os
import sys
import traceback
from collections.abc import Callable, Sequence
from contextlib import suppress
from pathlib import Path
from typing import Any

from flowdoubt import (
    CAUTIONS,
    FlowdoubtError,
    Record,
    Site,
    Verification,
    __version__,
    evaluate_sites,
    report,
)
from flowdoubt.edge.errors import refuse
from flowdoubt.edge.text import shown, shown_lines
from flowdoubt.verification import VERIFICATION_CAUTIONS

# 1 is an answer and nothing else: whoever asks whether a record reproduces must not be told "no" by
# a full disk
DONE, NO, NOT_DONE, UNDECIDED, FAULT, INTERRUPTED = 0, 1, 2, 3, 4, 130


def _say(words: object, beside: bool = False) -> None:
    """Print lines; `beside` the result, on standard error."""
    stream = sys.stderr if beside else sys.stdout
    # print would take standard output for a stream that is closed
    if stream is not None:
        print(shown_lines(str(words)), file=stream)


class _Parser(argparse.ArgumentParser):
    def _print_message(self, message: str, file: Any = None) -> None:
        """Print usage or help; unlike that of argparse it does not pass over a full disk."""
        stream = file or sys.stderr
        if message and stream is not None:
            stream.write(message)


def _parser() -> argparse.ArgumentParser:
    parser: argparse.ArgumentParser = _Parser(
        prog="flowdoubt",
        description="Volume flow of a clamp-on transit-time meter, with its uncertainty.",
        epilog=CAUTIONS,
    )
    parser.add_argument("--version", action="version", version=f"flowdoubt {__version__}")
    commands = parser.add_subparsers(dest="command", required=True)
    evaluate = commands.add_parser(
        "evaluate",
        help="readings to volume flow, with budget and Monte Carlo",
        epilog=CAUTIONS,
    )
    evaluate.add_argument("site", help="site file (TOML)")
    evaluate.add_argument("readings", help="readings of the meter (CSV)")
    evaluate.add_argument("--json", action="store_true", help="print JSON, all numbers in SI")
    evaluate.add_argument(
        "--trials", type=int, default=1_000_000, help="Monte Carlo trials, 0 for none"
    )
    evaluate.add_argument("--seed", type=int, default=1, help="seed of the trials")
    evaluate.add_argument(
        "--digits",
        type=int,
        default=2,
        choices=(1, 2, 3, 4),
        help="significant digits of the standard uncertainty for the comparison of first order "
        "with Monte Carlo",
    )
    evaluate.add_argument(
        "--reconcile",
        action="store_true",
        help="adjust the inputs by least squares so that they agree with the measured transit time",
    )
    evaluate.add_argument(
        "--zero", metavar="CSV", help="readings at no flow, to check the stated zero with"
    )
    _add_record(evaluate)
    _add_worksheet(evaluate)
    evaluate.add_argument("--overwrite", action="store_true", help="replace files that exist")
    evaluate.set_defaults(run=_evaluate)
    reproduce = commands.add_parser(
        "reproduce",
        help="compute a record anew; exit status 1 if anything differs",
        description="Exit status: 0 all agrees, 1 something differs, 2 it could not be done "
        "(no record, changed since its digest was taken, of another model), 4 a fault of this "
        "software.",
        epilog=CAUTIONS,
    )
    reproduce.add_argument("record", help="a record that --record wrote")
    _add_worksheet(reproduce)
    reproduce.add_argument("--overwrite", action="store_true", help="replace a file that exists")
    reproduce.set_defaults(run=_reproduce)
    reports = commands.add_parser(
        "report",
        help="a record as a report to print: HTML or PDF",
        description="The record is computed anew; exit status 1 if anything differs.",
        epilog=CAUTIONS,
    )
    reports.add_argument("record", help="a record that --record wrote")
    reports.add_argument(
        "--output", required=True, metavar="FILE", help="what to write, .html or .pdf"
    )
    reports.add_argument(
        "--verification", metavar="TOML", help="verification file, for a section of the report"
    )
    _add_readings_below(reports)
    reports.add_argument("--overwrite", action="store_true", help="replace a file that exists")
    reports.set_defaults(run=_report)
    verify = commands.add_parser(
        "verify",
        help="a meter against a reference: error, meter factor, conformity, agreement",
        description="Exit status 0 if every flow point conforms or agrees (or none is judged), "
        "1 if one does not, 3 if that cannot be decided with this reference.",
        epilog=VERIFICATION_CAUTIONS,
    )
    verify.add_argument("site", help="site file (TOML)")
    verify.add_argument("verification", help="verification file (TOML)")
    _add_readings_below(verify)
    verify.add_argument("--json", action="store_true", help="print JSON, all numbers in SI")
    verify.add_argument("--trials", type=int, default=0, help="Monte Carlo trials, 0 for none")
    verify.add_argument("--seed", type=int, default=1, help="seed of the trials")
    _add_record(verify)
    verify.add_argument(
        "--calibrated",
        metavar="TOML",
        help="write the site file with the result as its in-situ calibration",
    )
    verify.add_argument("--overwrite", action="store_true", help="replace files that exist")
    verify.set_defaults(run=_verify)
    starter = commands.add_parser(
        "starter",
        help="print a commented site file to begin with",
        description="Use: flowdoubt starter > site.toml, flowdoubt starter --verification > "
        "verification.toml",
        epilog=CAUTIONS,
    )
    starter.add_argument(
        "--basis", default="timed", help="what is read: timed (default), geometric or indicated"
    )
    starter.add_argument(
        "--liquid",
        default="water",
        help='"water" (default), "sea water", "ethylene glycol", "propylene glycol" or "stated"',
    )
    starter.add_argument(
        "--verification",
        action="store_true",
        help="a verification file instead, which belongs beside the site file",
    )
    starter.set_defaults(run=_starter)
    markout = commands.add_parser(
        "markout",
        help="where the sensors go: spacing, half circumference, a sheet to wrap round the pipe",
        epilog=CAUTIONS,
    )
    markout.add_argument("site", help="site file (TOML)")
    markout.add_argument(
        "--temperature",
        metavar="TEXT",
        help='of the liquid, such as "8 degC", where the site file leaves it to the readings',
    )
    markout.add_argument(
        "--sheet",
        metavar="FILE",
        help="write the sheet at 1:1, as .pdf in pages or as .svg in one piece",
    )
    markout.add_argument("--paper", default="A4", help="of the PDF: A4 (default), A3 or Letter")
    markout.add_argument(
        "--tiles",
        choices=("strips", "all"),
        help="pages of the PDF: the strips round the marks, or all of the sheet to be pasted; by "
        "default all if it takes two pages or fewer",
    )
    markout.add_argument("--json", action="store_true", help="print JSON, all numbers in SI")
    markout.add_argument("--overwrite", action="store_true", help="replace a file that exists")
    markout.set_defaults(run=_markout)
    _add_plan(commands)
    _add_series(commands)
    _add_sites(commands)
    return parser


def _add_record(command: argparse.ArgumentParser) -> None:
    command.add_argument(
        "--record",
        metavar="JSON",
        help="write all inputs and results to a file that `flowdoubt reproduce` recomputes",
    )


def _add_readings_below(command: argparse.ArgumentParser) -> None:
    command.add_argument(
        "--readings-below",
        metavar="FOLDER",
        help="where the readings that the verification file names may lie, links followed; by "
        "default below the folder of that file",
    )


def _save(record: Record, arguments: argparse.Namespace) -> None:
    record.save(arguments.record, arguments.overwrite)
    _say(f"record {shown(arguments.record)}, SHA-256 {record.digest}", beside=True)


def _add_plan(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    plan = commands.add_parser(
        "plan",
        help="expected uncertainty over flows, before going to site",
        description="Exit status 0; 1 if a target is given that no alternative reaches at some "
        "flow and temperature.",
        epilog=CAUTIONS,
    )
    plan.add_argument("site", help="site file (TOML)")
    plan.add_argument("--flows", nargs="+", required=True, metavar="FLOW", help='"100 m3/h" ...')
    plan.add_argument(
        "--temperatures", nargs="+", metavar="TEMPERATURE", help='of the liquid, "15 degC" ...'
    )
    plan.add_argument(
        "--traverses", nargs="+", type=int, metavar="N", help="numbers of traverses to compare"
    )
    plan.add_argument("--bases", nargs="+", choices=("timed", "geometric"), help="bases to compare")
    plan.add_argument(
        "--straight-runs",
        nargs="+",
        metavar="RUN",
        help='downstream of the fitting, "8 D" or "2.4 m" ...',
    )
    plan.add_argument(
        "--orientations", nargs="+", metavar="ANGLE", help='of the path, "90 deg" ...'
    )
    plan.add_argument("--planes", nargs="+", type=int, metavar="N", help="crossed planes, 1 or 2")
    scatter = plan.add_mutually_exclusive_group()
    scatter.add_argument(
        "--scatter",
        nargs="+",
        type=_named,
        metavar="CHANNEL=TEXT",
        help='standard deviation of single readings, as in time_difference="2 ns"; the same '
        "channel again is added in quadrature",
    )
    scatter.add_argument(
        "--trial-run", metavar="CSV", help="readings whose scatter and number are to be expected"
    )
    plan.add_argument("--readings", type=int, metavar="N", help="number of readings")
    plan.add_argument("--target", help='expanded uncertainty that is wanted, "1 %%" or "8 m3/h"')
    plan.add_argument(
        "--costs",
        nargs="+",
        type=_named,
        metavar="INPUT=COST",
        help="price of halving the standard uncertainty of an input; others stay as they are",
    )
    plan.add_argument(
        "--lowest",
        nargs="+",
        type=_named,
        metavar="INPUT=TEXT",
        help="lowest standard uncertainty that can be had, as text with a unit",
    )
    plan.add_argument("--json", action="store_true", help="print JSON, all numbers in SI")
    plan.set_defaults(run=_plan)


def _named(text: str) -> tuple[str, str]:
    name, separator, value = text.partition("=")
    if not (name and separator and value):
        raise argparse.ArgumentTypeError(f"found {text!r}; allowed: name=value")
    return name, value


def _add_series(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    series = commands.add_parser(
        "series", help="a log of readings to flow row by row and total volume", epilog=CAUTIONS
    )
    series.add_argument("site", help="site file (TOML)")
    series.add_argument("log", help="logged readings (CSV) with a column time or time_s")
    series.add_argument("--interval", help="interval between rows instead of times, as 60s or 1min")
    series.add_argument("--rule", default="trapezoid", help="trapezoid, hold or since")
    series.add_argument("--gaps", default="leave_out", help="leave_out, hold or interpolate")
    series.add_argument(
        "--gap-factor", type=float, default=1.5, help="a longer step, in usual steps, is a gap"
    )
    series.add_argument(
        "--repeatability",
        action="append",
        default=[],
        metavar="CHANNEL=DEVIATION",
        help="standard deviation of single readings, as time_difference=0.8ns; may be repeated",
    )
    series.add_argument(
        "--time-zone", metavar="ZONE", help="of a clock on a wall, as Europe/Berlin"
    )
    damping = series.add_mutually_exclusive_group()
    damping.add_argument("--time-constant", help="by which the meter damps its readings, as 10s")
    damping.add_argument("--window", help="of which the meter shows the mean, as 10s")
    series.add_argument(
        "--status", metavar="COLUMN=STATUS,...", help="use rows with one of these states"
    )
    series.add_argument(
        "--signal", metavar="COLUMN[=LEAST]", help="keep the signal; use rows with as much"
    )
    series.add_argument(
        "--period",
        choices=["day", "week", "month"],
        help="print totals of calendar periods as well",
    )
    series.add_argument("--csv", metavar="FILE", help="write flow and uncertainty of every row")
    series.add_argument("--progress", action="store_true", help="show a progress bar")
    series.add_argument("--overwrite", action="store_true", help="replace a file that exists")
    series.set_defaults(run=_series)


def _add_sites(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    sites = commands.add_parser(
        "evaluate-sites",
        help="a folder of sites with their readings to one table",
        description="Sites are name.toml with name.csv beside, or folders with site.toml and "
        "readings.csv. Exit status 1 if a site has no result.",
        epilog=CAUTIONS,
    )
    sites.add_argument("folder", help="the folder")
    sites.add_argument("--csv", metavar="FILE", help="write the table to a file")
    sites.add_argument("--progress", action="store_true", help="show a progress bar")
    sites.add_argument("--overwrite", action="store_true", help="replace a file that exists")
    sites.set_defaults(run=_sites)


def _add_worksheet(command: argparse.ArgumentParser) -> None:
    command.add_argument(
        "--worksheet",
        metavar="FILE",
        help="write every step with equation and numbers, as .txt, .md or .html",
    )


def _evaluate(arguments: argparse.Namespace) -> int:
    evaluation = Site.load(arguments.site).evaluate(arguments.readings)
    # JSON is the evaluation alone; what was done besides goes beside it
    beside = arguments.json
    if arguments.zero is not None:
        _say(evaluation.zero_check(arguments.zero), beside)
    if arguments.reconcile:
        reconciliation = evaluation.reconciled()
        _say(reconciliation, beside)
        evaluation = reconciliation.after
    trials = None
    if arguments.trials:
        try:
            trials = evaluation.monte_carlo(trials=arguments.trials, seed=arguments.seed)
        except FlowdoubtError as error:
            if error.field == "trials":
                raise
            # what there is without it is worth more than nothing
            _say(f"no Monte Carlo, first order alone: {error}\n", beside)
    if arguments.record is not None:
        _save(evaluation.record(trials, arguments.digits, arguments.zero), arguments)
    if arguments.worksheet is not None:
        evaluation.worksheet.save(arguments.worksheet, arguments.overwrite)
    if arguments.json:
        _say(evaluation.to_json(trials, digits=arguments.digits))
    else:
        _say(evaluation.in_words(trials, digits=arguments.digits))
        _say(f"\n{CAUTIONS}")
    return DONE


def _reproduce(arguments: argparse.Namespace) -> int:
    record = Record.load(arguments.record)
    reproduction = record.reproduce()
    _say(reproduction)
    if arguments.worksheet is not None:
        record.worksheet().save(arguments.worksheet, arguments.overwrite)
    return DONE if reproduction else NO


def _report(arguments: argparse.Namespace) -> int:
    record = Record.load(arguments.record)
    verification = None
    if arguments.verification is not None:
        verification = Verification.load(arguments.verification, arguments.readings_below)
    made = report(record, verification=verification)
    made.save(arguments.output, arguments.overwrite)
    _say(f"report {shown(arguments.output)}", beside=True)
    return DONE if made.reproduces else NO


def _verify(arguments: argparse.Namespace) -> int:
    site = Site.load(arguments.site)
    result = site.verify(Verification.load(arguments.verification, arguments.readings_below))
    trials = None
    if arguments.trials:
        trials = result.monte_carlo(trials=arguments.trials, seed=arguments.seed)
    if arguments.record is not None:
        _save(result.record(trials), arguments)
    if arguments.calibrated is not None:
        site.calibrated_by(result).save(arguments.calibrated, arguments.overwrite)
        _say(f"site file {shown(arguments.calibrated)}", beside=True)
    if arguments.json:
        _say(result.to_json(trials))
    else:
        _say(result.in_words(trials))
        _say(f"\n{VERIFICATION_CAUTIONS}\n{CAUTIONS}")
    if result.verdict is None or result.accepted:
        return DONE
    return UNDECIDED if result.accepted is None else NO


def _starter(arguments: argparse.Namespace) -> int:
    if arguments.verification:
        print(Verification.STARTER, end="")
    else:
        print(Site.starter(arguments.basis, arguments.liquid), end="")
    return DONE


def _markout(arguments: argparse.Namespace) -> int:
    mark_out = Site.load(arguments.site).mark_out(temperature=arguments.temperature)
    if arguments.sheet is not None:
        mark_out.sheet(
            arguments.sheet,
            arguments.paper,
            tiles=arguments.tiles,
            overwrite=arguments.overwrite,
        )
        _say(f"sheet {shown(arguments.sheet)}: print at 100 %", beside=True)
    if arguments.json:
        _say(json.dumps(mark_out.to_dict(), indent=2))
    else:
        _say(mark_out.in_words)
        _say(CAUTIONS)
    return DONE


def _plan(arguments: argparse.Namespace) -> int:
    scatter: dict[str, list[str]] = {}
    for channel, text in arguments.scatter or ():
        scatter.setdefault(channel, []).append(text)
    plan = Site.load(arguments.site).plan(
        arguments.flows,
        arguments.temperatures,
        traverses=arguments.traverses,
        bases=arguments.bases,
        straight_runs=arguments.straight_runs,
        orientations=arguments.orientations,
        planes=arguments.planes,
        scatter=scatter or None if arguments.trial_run is None else arguments.trial_run,
        readings=arguments.readings,
        target=arguments.target,
        costs=dict(arguments.costs) if arguments.costs else None,
        lowest=dict(arguments.lowest) if arguments.lowest else None,
    )
    if arguments.json:
        _say(plan.to_json())
    else:
        _say(plan)
        targets = [target for target in plan.targets or () if target is not None]
        if targets:
            worst = max(
                targets, key=lambda target: target.expanded.expanded_uncertainty / target.wanted
            )
            _say(f"the point that is farthest from the target:\n{worst}")
        _say(CAUTIONS)
    return NO if plan.reachable is False else DONE


def _of_column(text: str | None, read: Callable[[str], Any]) -> Any:
    """Read ``column=value`` as a mapping; a column alone stays as it is."""
    if text is None or "=" not in text:
        return text
    column, _, value = text.partition("=")
    try:
        return {column: read(value)}
    except ValueError:
        raise refuse(
            f"{column}: found {value!r}; allowed: a number",
            code="not-a-quantity",
            field=column,
            value=value,
            allowed="a number",
        ) from None


def _series(arguments: argparse.Namespace) -> int:
    stated = [item.partition("=") for item in arguments.repeatability]
    series = Site.load(arguments.site).evaluate_series(
        arguments.log,
        interval=arguments.interval,
        rule=arguments.rule,
        gaps=arguments.gaps,
        gap_factor=arguments.gap_factor,
        repeatability={channel: deviation for channel, _, deviation in stated} or None,
        time_zone=arguments.time_zone,
        time_constant=arguments.time_constant,
        window=arguments.window,
        status=_of_column(arguments.status, lambda states: states.split(",")),
        signal=_of_column(arguments.signal, float),
        period=arguments.period,
        progress=arguments.progress,
    )
    if arguments.csv is not None:
        series.save(arguments.csv, arguments.overwrite)
    _say(series)
    _say(f"\n{CAUTIONS}")
    return DONE


def _sites(arguments: argparse.Namespace) -> int:
    table = evaluate_sites(Path(arguments.folder), progress=arguments.progress)
    if arguments.csv is not None:
        table.save(arguments.csv, arguments.overwrite)
    _say(table)
    _say(f"\n{CAUTIONS}")
    return NO if table.failed else DONE


def _status(argv: Sequence[str] | None) -> int:
    """Do what is asked for and return the exit status; usage errors leave as argparse does."""
    try:
        arguments = _parser().parse_args(argv)
        if sys.stdout is None:
            raise OSError("standard output is closed")
        return int(arguments.run(arguments))
    except (FlowdoubtError, ModuleNotFoundError, OverflowError, UnicodeError) as error:
        told = str(error)
    except MemoryError:
        told = "there is not enough memory"
    except OSError as error:
        told = f"cannot write what there is to say: {error}"
    with suppress(OSError):
        _say(f"flowdoubt: {shown(told)}", beside=True)
    return NOT_DONE


def _is_written(stream: Any) -> bool:
    """Whether all that was said on a stream has left; what cannot leave is dropped."""
    if stream is None:
        return True
    try:
        stream.flush()
    except OSError:
        # or the interpreter would try once more at its end
        with suppress(OSError, ValueError):
            os.dup2(os.open(os.devnull, os.O_WRONLY), stream.fileno())
        return False
    return True


def main(argv: Sequence[str] | None = None) -> int:
    """Run the command line and return the exit status."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            # signs that a terminal has no letters for are spelt out
            stream.reconfigure(errors="backslashreplace")
    try:
        status = _status(argv)
    except SystemExit:
        if not _is_written(sys.stdout):
            return NOT_DONE
        raise
    except KeyboardInterrupt:
        status = INTERRUPTED
    except BaseException:
        # whatever it is, it is no answer
        status = FAULT
        with suppress(OSError):
            if sys.stderr is not None:
                traceback.print_exc()
    if not _is_written(sys.stdout) and status in (DONE, NO, UNDECIDED):
        status = NOT_DONE
        with suppress(OSError):
            _say("flowdoubt: cannot write what there is to say", beside=True)
    _is_written(sys.stderr)
    return status

