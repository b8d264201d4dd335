"""What the commands take."""

from __future__ import annotations

import argparse
import sys
from typing import Any

from flowdoubt._core import CAUTIONS, VERIFICATION_CAUTIONS, __version__
from flowdoubt.cli import commands, completion, difference


class _Parser(argparse.ArgumentParser):
    def _print_message(self, message: str, file: Any = None) -> None:
        """Print usage or help; unlike that of argparse it does not pass over a full disk."""
        stream = file or sys.stderr
        if message and stream is not None:
            stream.write(message)


def parser() -> argparse.ArgumentParser:
    """Return the parser of the command line."""
    made: argparse.ArgumentParser = _Parser(
        prog="flowdoubt",
        description="Volume flow of a clamp-on transit-time meter, with its uncertainty.",
        epilog=CAUTIONS,
    )
    made.add_argument("--version", action="version", version=f"flowdoubt {__version__}")
    parsers = made.add_subparsers(dest="command", required=True)
    evaluate = parsers.add_parser(
        "evaluate",
        help="readings to volume flow, with budget and Monte Carlo",
        epilog=CAUTIONS,
    )
    evaluate.add_argument("site", help="site file (TOML)")
    evaluate.add_argument("readings", help="readings of the meter (CSV or the like, .xlsx)")
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
    _add_table(evaluate)
    evaluate.add_argument(
        "--status", metavar="COLUMN=STATUS,...", help="leave out rows with another status"
    )
    _add_record(evaluate)
    _add_worksheet(evaluate)
    evaluate.add_argument("--overwrite", action="store_true", help="replace files that exist")
    evaluate.set_defaults(run=commands.evaluate)
    reproduce = parsers.add_parser(
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
    reproduce.set_defaults(run=commands.reproduce)
    reports = parsers.add_parser(
        "report",
        help="the record of an evaluation or a verification as a report to print: HTML or PDF",
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
    reports.add_argument(
        "--head",
        metavar="TOML",
        help="customer, order, people, instruments; flowdoubt starter --head prints one",
    )
    reports.add_argument(
        "--language", default="en", help="en (default), de, or a file of words (.toml)"
    )
    reports.add_argument(
        "--numbers",
        default="plain",
        choices=("plain", "language"),
        help="with a point before the decimals (default), or as the language writes them",
    )
    reports.add_argument("--overwrite", action="store_true", help="replace a file that exists")
    reports.set_defaults(run=commands.report)
    verify = parsers.add_parser(
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
    verify.set_defaults(run=commands.verify)
    starter = parsers.add_parser(
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
        "--head", action="store_true", help="the head of a report instead, for report --head"
    )
    starter.add_argument(
        "--verification",
        action="store_true",
        help="a verification file instead, which belongs beside the site file",
    )
    starter.set_defaults(run=commands.starter)
    markout = parsers.add_parser(
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
    markout.add_argument(
        "--instruments",
        metavar="TOML",
        help="file of instruments, for pages of what to take after those of the sheet",
    )
    markout.add_argument("--json", action="store_true", help="print JSON, all numbers in SI")
    markout.add_argument("--overwrite", action="store_true", help="replace a file that exists")
    markout.set_defaults(run=commands.markout)
    _add_kit(parsers)
    _add_commission(parsers)
    _add_plan(parsers)
    _add_series(parsers)
    _add_sites(parsers)
    difference.add(parsers)
    completion.add(parsers, made)
    return made


def _add_commission(parsers: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    commission = parsers.add_parser(
        "commission",
        help="the steps on site with what each should show; the form that was filled in, judged",
        description="Prints the list, or what was found. Exit status 1 if a form was read in which "
        "a step is not done or not as it should be.",
        epilog=CAUTIONS,
    )
    commission.add_argument("site", help="site file (TOML)")
    commission.add_argument(
        "--temperature",
        metavar="TEXT",
        help='of the liquid that is foreseen, such as "8 degC", where the site file leaves it to '
        "the readings",
    )
    commission.add_argument(
        "--temperature-uncertainty",
        default="0 K",
        metavar="TEXT",
        help='its standard uncertainty, such as "0.5 K"',
    )
    commission.add_argument(
        "--flow", metavar="TEXT", help='that is foreseen, such as "300 m3/h", for its reading'
    )
    commission.add_argument(
        "--page", metavar="PDF", help="write the list as pages to print, with boxes to tick"
    )
    commission.add_argument("--paper", default="A4", help="of the PDF: A4 (default), A3 or Letter")
    commission.add_argument(
        "--form", metavar="TOML", help="write the form that is filled in on site"
    )
    commission.add_argument(
        "--read", metavar="TOML", help="read a form that was filled in, and tell what was found"
    )
    commission.add_argument(
        "--take-over",
        nargs="+",
        default=[],
        metavar="PATH",
        help="what of it replaces what the site file states, as meter.zero_time_difference",
    )
    commission.add_argument(
        "--save", metavar="TOML", help="write the site file with what was taken over"
    )
    commission.add_argument("--json", action="store_true", help="print JSON, all numbers in SI")
    commission.add_argument("--overwrite", action="store_true", help="replace a file that exists")
    commission.set_defaults(run=commands.commission)


def _add_table(command: argparse.ArgumentParser) -> None:
    table = command.add_argument_group(
        "how the table is written",
        "What is neither given here nor in the section [readings] of the site file is recognised "
        "and said.",
    )
    table.add_argument("--delimiter", metavar="SIGN", help='between columns: ",", ";", tab or "|"')
    table.add_argument("--decimal", metavar="SIGN", help='before decimals: "." or ","')
    table.add_argument("--encoding", help="such as utf-8, utf-16 or latin-1")
    table.add_argument(
        "--skip-rows", type=int, metavar="N", help="rows before the names of the columns"
    )
    table.add_argument("--sheet", metavar="NAME", help="of a workbook")
    table.add_argument(
        "--column",
        action="append",
        type=_named,
        metavar="QUANTITY=NAME",
        help='the name of a column, as transit_time_us="TT"; may be repeated',
    )


def _add_kit(parsers: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    kit = parsers.add_parser(
        "kit",
        help="what to take to site, and whether it lies in the box or was delivered",
        description="Exit status 0 if nothing is missing or of no use, 1 if something is.",
        epilog=CAUTIONS,
    )
    kit.add_argument("site", help="site file (TOML)")
    kit.add_argument("instruments", help="file of instruments: what one owns, or was delivered")
    kit.add_argument(
        "--temperatures", nargs="+", metavar="TEMPERATURE", help='of the liquid, "15 degC" ...'
    )
    kit.add_argument("--free-length", metavar="LENGTH", help='free along the pipe, "1.2 m"')
    _add_day(kit)
    kit.add_argument("--page", metavar="PDF", help="write the list as pages to print")
    kit.add_argument("--paper", default="A4", help="of the PDF: A4 (default), A3 or Letter")
    kit.add_argument("--json", action="store_true", help="print JSON")
    kit.add_argument("--overwrite", action="store_true", help="replace a file that exists")
    kit.set_defaults(run=commands.kit)


def _add_day(command: argparse.ArgumentParser) -> None:
    command.add_argument(
        "--cable-run", metavar="LENGTH", help='from the sensors to the electronics, "8 m"'
    )
    command.add_argument(
        "--duration", metavar="TIME", help='how long the sensors stay, "3 h" or "30 days"'
    )
    command.add_argument("--date", help="the day, for certificates: 2026-03-31; today if not given")


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


def _add_plan(parsers: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    plan = parsers.add_parser(
        "plan",
        help="expected uncertainty over flows, before going to site",
        description="Exit status 0; 1 if a target is given that no alternative reaches at some "
        "flow and temperature, or if none of the instruments fits.",
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
    plan.add_argument(
        "--free-length",
        metavar="LENGTH",
        help='free along the pipe, "1.2 m": what does not fit is ranked last',
    )
    plan.add_argument(
        "--rail",
        nargs=2,
        metavar=("SHORTEST", "LONGEST"),
        help='spacings that a rail or frame holds, "50 mm" "400 mm"',
    )
    plan.add_argument(
        "--efforts",
        nargs="+",
        type=_named,
        metavar="ALTERNATIVE=EFFORT",
        help="effort of each alternative by its label, in place of the count of mountings",
    )
    plan.add_argument(
        "--instruments",
        metavar="TOML",
        help="file of instruments, all of which are tried in place of what the site states",
    )
    _add_day(plan)
    plan.add_argument("--json", action="store_true", help="print JSON, all numbers in SI")
    plan.set_defaults(run=commands.plan)


def _named(text: str) -> tuple[str, str]:
    name, separator, value = text.partition("=")
    if not (name and separator and value):
        raise argparse.ArgumentTypeError(f"found {text!r}; allowed: name=value")
    return name, value


def _add_series(parsers: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    series = parsers.add_parser(
        "series", help="a log of readings to flow row by row and total volume", epilog=CAUTIONS
    )
    series.add_argument("site", help="site file (TOML)")
    series.add_argument(
        "log", help="logged readings (CSV or the like, .xlsx) with a column time or time_s"
    )
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
    series.add_argument(
        "--difference",
        nargs=2,
        metavar="PERIOD",
        help="of the mean flows of two periods, such as 2026-09 2026-10",
    )
    _add_table(series)
    series.add_argument("--csv", metavar="FILE", help="write flow and uncertainty of every row")
    series.add_argument("--progress", action="store_true", help="show a progress bar")
    series.add_argument("--overwrite", action="store_true", help="replace a file that exists")
    series.set_defaults(run=commands.series)


def _add_sites(parsers: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    sites = parsers.add_parser(
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
    sites.set_defaults(run=commands.sites)


def _add_worksheet(command: argparse.ArgumentParser) -> None:
    command.add_argument(
        "--worksheet",
        metavar="FILE",
        help="write every step with equation and numbers, as .txt, .md or .html",
    )
