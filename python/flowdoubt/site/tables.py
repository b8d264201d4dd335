"""How tables are to be read, and the columns of data frames under names of ours."""

from __future__ import annotations

import os
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any, TypeAlias

from flowdoubt.edge.errors import refuse
from flowdoubt.site.readings import names_of

if TYPE_CHECKING:
    from flowdoubt import _core

# the name of a column; names that belong together; name and unit
ColumnName: TypeAlias = str | Sequence[str] | Mapping[str, str]

# what is stated of files alone
_OF_FILES = ("delimiter", "decimal", "encoding", "skip_rows", "sheet")


def is_file(table: Any) -> bool:
    """Whether a table is the path of a file."""
    return isinstance(table, (str, os.PathLike))


def stated_table(
    delimiter: str | None,
    decimal: str | None,
    encoding: str | None,
    skip_rows: int | None,
    sheet: str | None,
    columns: Mapping[str, ColumnName] | None,
    status: tuple[str, list[str]] | None = None,
) -> dict[str, Any] | None:
    """Return what is stated of a table as the core takes it; `None` where nothing is."""
    for name, value in (
        ("delimiter", delimiter),
        ("decimal", decimal),
        ("encoding", encoding),
        ("sheet", sheet),
    ):
        if value is not None and not isinstance(value, str):
            raise _wrong(name, value, "text")
    if skip_rows is not None and (
        isinstance(skip_rows, bool) or not isinstance(skip_rows, int) or skip_rows < 0
    ):
        raise _wrong("skip_rows", skip_rows, "a number of rows, 0 or above")
    given = (delimiter, decimal, encoding, skip_rows, sheet, columns, status)
    if all(value is None for value in given):
        return None
    return {
        "delimiter": delimiter,
        "decimal": decimal,
        "encoding": encoding,
        "skip_rows": skip_rows,
        "sheet": sheet,
        "columns": _columns(columns),
        "status": status,
    }


def _wrong(name: str, value: Any, allowed: str) -> Exception:
    return refuse(
        f"{name}: found {value!r}; allowed: {allowed}",
        code="wrong-type",
        field=name,
        value=value,
        allowed=allowed,
    )


_ENTRY = "the name of a column, a list of names, or {'name': ..., 'unit': ...}"


def _columns(
    columns: Mapping[str, ColumnName] | None,
) -> list[tuple[str, list[str], str | None]]:
    if columns is None:
        return []
    if not isinstance(columns, Mapping):
        allowed = "names of columns by quantity, such as {'transit_time_us': 'TT'}"
        raise _wrong("columns", columns, allowed)
    found: list[tuple[str, list[str], str | None]] = []
    for quantity, entry in columns.items():
        field = f"columns.{quantity}"
        if isinstance(entry, str):
            found.append((str(quantity), [entry], None))
        elif isinstance(entry, Mapping):
            texts = all(isinstance(value, str) for value in entry.values())
            if set(entry) != {"name", "unit"} or not texts:
                raise _wrong(field, dict(entry), _ENTRY)
            found.append((str(quantity), [entry["name"]], entry["unit"]))
        elif isinstance(entry, Sequence) and all(isinstance(name, str) for name in entry):
            found.append((str(quantity), list(entry), None))
        else:
            raise _wrong(field, entry, _ENTRY)
    return found


def with_our_names(
    site: _core.Site, table: Any, stated: dict[str, Any] | None, others: Sequence[str] = ()
) -> Any:
    """Return a mapping or a data frame with the columns of the map under names of ours."""
    for name in _OF_FILES:
        if stated is not None and stated[name] is not None:
            raise refuse(
                f"{name}: found {stated[name]!r} beside columns in memory; allowed: of a file",
                code="conflict",
                field=name,
                value=stated[name],
                allowed="of a file",
            )
    names = names_of(table)
    ours = site._names_of_columns([str(name) for name in names], stated, list(others))
    if ours is None:
        return table
    chosen = {name: own for name, own in zip(names, ours, strict=True) if own is not None}
    if isinstance(table, Mapping):
        return {own: table[name] for name, own in chosen.items()}
    if hasattr(table, "with_columns"):
        return table.select(list(chosen)).rename(chosen)
    return table[list(chosen)].rename(columns=chosen)


def in_our_names(site: _core.Site, readings: Any) -> Any:
    """Return readings with the columns of the map of the site under names of ours; a path as is."""
    return readings if is_file(readings) else with_our_names(site, readings, None)


def status_of(site: _core.Site, table: Any, stated: Any) -> Any:
    """Return the status that is stated, or that of the site where a table in memory has it."""
    own = site._status
    if stated is not None or own is None or own[0] not in names_of(table):
        return stated
    return {own[0]: own[1]}


def refuse_status(site: _core.Site, table: Any, stated: Any) -> None:
    """Refuse a status of rows in memory, of which nothing would tell that they were left out."""
    status = status_of(site, table, stated)
    if status is None:
        return
    raise refuse(
        f"status: found {status!r} beside columns in memory; allowed: of a file; of a frame, leave "
        "the rows of other states out",
        code="conflict",
        field="status",
        value=status,
        allowed="of a file",
    )
