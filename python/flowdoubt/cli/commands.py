"""What the commands do: each returns its exit status."""

from __future__ import annotations

import argparse
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

from flowdoubt._core import CAUTIONS, FlowdoubtError
from flowdoubt.cli.output import DONE, NO, UNDECIDED, say
from flowdoubt.edge.errors import refuse
from flowdoubt.edge.text import shown
from flowdoubt.reports import head_starter
from flowdoubt.reports import report as report_of
from flowdoubt.site import Inventory, Record, Site, Verification, evaluate_sites
from flowdoubt.site import difference as difference_of
from flowdoubt.verification import VERIFICATION_CAUTIONS


def _save(record: Record, arguments: argparse.Namespace) -> None:
    record.save(arguments.record, arguments.overwrite)
    say(f"record {shown(arguments.record)}, SHA-256 {record.digest}", beside=True)


def evaluate(arguments: argparse.Namespace) -> int:
    """Evaluate readings, by first order and by Monte Carlo."""
    evaluation = Site.load(arguments.site).evaluate(
        arguments.readings,
        status=_of_column(arguments.status, lambda states: states.split(",")),
        **_table(arguments),
    )
    # JSON is the evaluation alone; what was done besides goes beside it
    beside = arguments.json
    if arguments.zero is not None:
        say(evaluation.zero_check(arguments.zero), beside)
    if arguments.reconcile:
        reconciliation = evaluation.reconciled()
        say(reconciliation, beside)
        evaluation = reconciliation.after
    trials = None
    if arguments.trials:
        try:
            trials = evaluation.monte_carlo(trials=arguments.trials, seed=arguments.seed)
        except FlowdoubtError as error:
            if error.field == "trials":
                raise
            # what there is without it is worth more than nothing
            say(f"no Monte Carlo, first order alone: {error}\n", beside)
    if arguments.record is not None:
        _save(evaluation.record(trials, arguments.digits, arguments.zero), arguments)
    if arguments.worksheet is not None:
        evaluation.worksheet.save(arguments.worksheet, arguments.overwrite)
    if arguments.json:
        say(evaluation.to_json(trials, digits=arguments.digits))
    else:
        say(evaluation.in_words(trials, digits=arguments.digits))
        say(f"\n{CAUTIONS}")
    return DONE


def reproduce(arguments: argparse.Namespace) -> int:
    """Compute a record anew and compare."""
    record = Record.load(arguments.record)
    reproduction = record.reproduce()
    say(reproduction)
    if arguments.worksheet is not None:
        record.worksheet().save(arguments.worksheet, arguments.overwrite)
    return DONE if reproduction else NO


def report(arguments: argparse.Namespace) -> int:
    """Write the report of a record."""
    record = Record.load(arguments.record)
    verification = None
    if arguments.verification is not None:
        verification = Verification.load(arguments.verification, arguments.readings_below)
    made = report_of(
        record,
        verification=verification,
        head=arguments.head,
        language=arguments.language,
        numbers=arguments.numbers,
    )
    made.save(arguments.output, arguments.overwrite)
    say(f"report {shown(arguments.output)}", beside=True)
    return DONE if made.reproduces else NO


def verify(arguments: argparse.Namespace) -> int:
    """Verify a meter against a reference."""
    site = Site.load(arguments.site)
    result = site.verify(Verification.load(arguments.verification, arguments.readings_below))
    trials = None
    if arguments.trials:
        trials = result.monte_carlo(trials=arguments.trials, seed=arguments.seed)
    if arguments.record is not None:
        _save(result.record(trials), arguments)
    if arguments.calibrated is not None:
        site.calibrated_by(result).save(arguments.calibrated, arguments.overwrite)
        say(f"site file {shown(arguments.calibrated)}", beside=True)
    if arguments.json:
        say(result.to_json(trials))
    else:
        say(result.in_words(trials))
        say(f"\n{VERIFICATION_CAUTIONS}\n{CAUTIONS}")
    if result.verdict is None or result.accepted:
        return DONE
    return UNDECIDED if result.accepted is None else NO


def starter(arguments: argparse.Namespace) -> int:
    """Print a file to begin with."""
    if arguments.head:
        print(head_starter(), end="")
    elif arguments.verification:
        print(Verification.STARTER, end="")
    else:
        print(Site.starter(arguments.basis, arguments.liquid), end="")
    return DONE


def markout(arguments: argparse.Namespace) -> int:
    """Tell where the sensors go."""
    site = Site.load(arguments.site)
    mark_out = site.mark_out(temperature=arguments.temperature)
    lists = []
    if arguments.instruments is not None:
        if arguments.sheet is None:
            raise refuse(
                "--instruments: found without --sheet; allowed: with the sheet to be printed",
                code="missing",
                field="--instruments",
                allowed="with --sheet",
            )
        instruments = Inventory.load(arguments.instruments)
        lists.append(site.kit(instruments, arguments.temperature))
    if arguments.sheet is not None:
        mark_out.sheet(
            arguments.sheet,
            arguments.paper,
            tiles=arguments.tiles,
            lists=lists,
            overwrite=arguments.overwrite,
        )
        say(f"sheet {shown(arguments.sheet)}: print at 100 %", beside=True)
    if arguments.json:
        say(json.dumps(mark_out.to_dict(), indent=2))
    else:
        say(mark_out.in_words)
        say(CAUTIONS)
    return DONE


def commission(arguments: argparse.Namespace) -> int:
    """List the steps of commissioning, or tell what was found."""
    site = Site.load(arguments.site)
    if arguments.read is not None:
        return _commissioned(site, arguments)
    for option in ("take_over", "save"):
        if getattr(arguments, option):
            name = f"--{option.replace('_', '-')}"
            raise refuse(
                f"{name}: found without --read; allowed: with the form that was filled in",
                field=name,
                allowed="with --read",
            )
    made = site.commissioning(
        temperature=arguments.temperature,
        temperature_standard_uncertainty=arguments.temperature_uncertainty,
        flow=arguments.flow,
    )
    if arguments.page is not None:
        made.page(arguments.page, arguments.paper, overwrite=arguments.overwrite)
        say(f"pages {shown(arguments.page)}", beside=True)
    if arguments.form is not None:
        made.save_form(arguments.form, arguments.overwrite)
        say(f"form {shown(arguments.form)}", beside=True)
    if arguments.json:
        say(made.to_json())
    else:
        say(made)
        say(CAUTIONS)
    return DONE


def _commissioned(site: Site, arguments: argparse.Namespace) -> int:
    """Tell what was found, and take over what is asked for."""
    given = [
        name
        for name in ("temperature", "flow", "page", "form")
        if getattr(arguments, name) is not None
    ]
    if given:
        raise refuse(
            f"--{given[0]}: found beside --read; allowed: one of them, since the form says for "
            "what it was made",
            field=f"--{given[0]}",
            allowed="without --read",
        )
    found = site.read_commissioning(arguments.read)
    taken = found.taken_over(arguments.take_over) if arguments.take_over else None
    if arguments.save is not None:
        if taken is None:
            raise refuse(
                "--save: found without --take-over; allowed: with what is taken over",
                code="missing",
                field="--save",
                allowed="with --take-over",
            )
        taken.site.save(arguments.save, arguments.overwrite)
        say(f"site file {shown(arguments.save)}", beside=True)
    if arguments.json:
        say(found.to_json())
    else:
        say(found)
        if taken is not None:
            say(f"in the site file:\n{taken.toml}")
        say(CAUTIONS)
    return DONE if found.as_it_should_be else NO


def kit(arguments: argparse.Namespace) -> int:
    """List what to take to site, and what of it is there."""
    instruments = Inventory.load(arguments.instruments)
    site = Site.load(arguments.site)
    made = site.kit(
        instruments,
        arguments.temperatures,
        cable_run=arguments.cable_run,
        free_length=arguments.free_length,
        duration=arguments.duration,
        date=arguments.date,
    )
    if arguments.page is not None:
        made.page(arguments.page, arguments.paper, overwrite=arguments.overwrite)
        say(f"pages {shown(arguments.page)}", beside=True)
    if arguments.json:
        say(made.to_json())
    else:
        say(made)
        say(CAUTIONS)
    return DONE if made.complete else NO


def plan(arguments: argparse.Namespace) -> int:
    """Expect the uncertainty before anybody goes to site."""
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
        free_length=arguments.free_length,
        rail=arguments.rail,
        efforts=dict(arguments.efforts) if arguments.efforts else None,
        instruments=arguments.instruments and Inventory.load(arguments.instruments),
        cable_run=arguments.cable_run,
        duration=arguments.duration,
        date=arguments.date,
    )
    if arguments.json:
        say(plan.to_json())
    else:
        say(plan)
        targets = [target for target in plan.targets or () if target is not None]
        if targets:
            worst = max(
                targets, key=lambda target: target.expanded.expanded_uncertainty / target.wanted
            )
            say(f"the point that is farthest from the target:\n{worst}")
        say(CAUTIONS)
    return NO if plan.reachable is False or not plan.alternatives else DONE


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


def _table(arguments: argparse.Namespace) -> dict[str, Any]:
    """Return what is said of how a table is written."""
    return {
        "delimiter": arguments.delimiter,
        "decimal": arguments.decimal,
        "encoding": arguments.encoding,
        "skip_rows": arguments.skip_rows,
        "sheet": arguments.sheet,
        "columns": dict(arguments.column) if arguments.column else None,
    }


def series(arguments: argparse.Namespace) -> int:
    """Evaluate a log and its total."""
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
        **_table(arguments),
        progress=arguments.progress,
    )
    if arguments.csv is not None:
        series.save(arguments.csv, arguments.overwrite)
    say(series)
    if arguments.difference:
        first, second = arguments.difference
        found = difference_of((series, first), (series, second), same="mounting")
        say(f"\n{found.in_words}")
    say(f"\n{CAUTIONS}")
    return DONE


def sites(arguments: argparse.Namespace) -> int:
    """Evaluate all sites of a folder."""
    table = evaluate_sites(Path(arguments.folder), progress=arguments.progress)
    if arguments.csv is not None:
        table.save(arguments.csv, arguments.overwrite)
    say(table)
    say(f"\n{CAUTIONS}")
    return NO if table.failed else DONE
