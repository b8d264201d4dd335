"""Instruments that one owns, and what to take to site."""

from __future__ import annotations

import datetime
import os
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, Self

from flowdoubt import _core
from flowdoubt.display.kit import inventory_html, kit_html
from flowdoubt.edge.errors import file_path, refuse
from flowdoubt.site.readings import amount

if TYPE_CHECKING:
    import pandas as pd
    import polars as pl

    from flowdoubt.sheet.checklist import Checklist


class Inventory(_core.Inventory):
    """Instruments, sensors and what belongs to them, as their file describes them.

    Make one with `Inventory.load` or `Inventory.from_toml`. `Site.plan` tries all of them,
    `Site.using` uses some, `Site.kit` looks in them for what a site needs. ``things`` and
    ``certificates`` list what there is.
    """

    @classmethod
    def load(cls, path: str | os.PathLike[str]) -> Self:
        """Read a file of instruments.

        Parameters
        ----------
        path
            The path of the file.

        Returns
        -------
        Inventory

        Raises
        ------
        FlowdoubtError
            Anything wrong in the file, with file, line, what was found and what is allowed.

        Examples
        --------
        >>> Inventory.load("notebooks/demo/box/instruments.toml")
        <Inventory of 23 things: instruments.toml>
        """
        return super().load(file_path("path", path))

    def to_pandas(self) -> pd.DataFrame:
        """Return the things as a data frame.

        Returns
        -------
        pandas.DataFrame
            A row for each thing.

        Raises
        ------
        ModuleNotFoundError
            Without the package pandas.

        Examples
        --------
        >>> import flowdoubt as fd
        >>> box = fd.Inventory.load("notebooks/demo/box/instruments.toml")
        >>> list(box.to_pandas().columns)[:2]
        ['kind', 'name']
        """
        import pandas as pd

        return pd.DataFrame(self.things)

    def to_polars(self) -> pl.DataFrame:
        """Return the things as a data frame.

        Returns
        -------
        polars.DataFrame
            A row for each thing.

        Raises
        ------
        ModuleNotFoundError
            Without the package polars.

        Examples
        --------
        >>> import flowdoubt as fd
        >>> box = fd.Inventory.load("notebooks/demo/box/instruments.toml")
        >>> box.to_polars().columns[:2]
        ['kind', 'name']
        """
        import polars as pl

        return pl.DataFrame(self.things, infer_schema_length=None)

    def _repr_html_(self) -> str:
        return inventory_html(self)


class KitList(_core.KitList):
    """What to take to site and to see to before leaving: `Site.kit` makes it.

    ``complete`` says whether all is there and fits; ``items`` has a dictionary for each thing,
    ``surplus`` what is there and not needed. ``print`` and notebooks show the list, `page` prints
    it.
    """

    def page(
        self, path: str | os.PathLike[str], paper: str = "A4", *, overwrite: bool = False
    ) -> None:
        """Write the list as pages to print, with boxes to tick.

        The same list gives the same bytes. It needs matplotlib.

        Parameters
        ----------
        path
            A file that ends in ``.pdf``.
        paper
            ``"A4"``, ``"A3"`` or ``"Letter"``.
        overwrite
            Whether a file that exists may be replaced. It is written whole or not at all.

        Raises
        ------
        RecordError
            A file that exists and may not be replaced.
        InputError
            Another suffix, unknown paper, a folder that cannot be written in, no matplotlib.

        Examples
        --------
        >>> import tempfile, pathlib, flowdoubt as fd
        >>> site = fd.Site.load("notebooks/demo/box/hot_steel_main.toml")
        >>> box = fd.Inventory.load("notebooks/demo/box/instruments.toml")
        >>> folder = tempfile.TemporaryDirectory()
        >>> site.kit(box).page(pathlib.Path(folder.name) / "kit.pdf")
        >>> folder.cleanup()
        """
        from flowdoubt.sheet.printed_list import printed_list

        content = printed_list(self._checklist(), path, paper)
        _core.write_whole(path, content, overwrite)

    def _checklist(self) -> Checklist:
        """Return what is printed."""
        from flowdoubt.sheet.kit import checklist_of

        return checklist_of(self)

    def to_pandas(self) -> pd.DataFrame:
        """Return the items as a data frame.

        Returns
        -------
        pandas.DataFrame
            A row for each item.

        Raises
        ------
        ModuleNotFoundError
            Without the package pandas.

        Examples
        --------
        >>> import flowdoubt as fd
        >>> box = fd.Inventory.load("notebooks/demo/box/instruments.toml")
        >>> site = fd.Site.load("notebooks/demo/box/small_plastic_pipe.toml")
        >>> kit = site.kit(box, "27 degC")
        >>> list(kit.to_pandas().columns)[:3]
        ['group', 'what', 'needed']
        """
        import pandas as pd

        return pd.DataFrame(self.items)

    def to_polars(self) -> pl.DataFrame:
        """Return the items as a data frame.

        Returns
        -------
        polars.DataFrame
            A row for each item.

        Raises
        ------
        ModuleNotFoundError
            Without the package polars.

        Examples
        --------
        >>> import flowdoubt as fd
        >>> box = fd.Inventory.load("notebooks/demo/box/instruments.toml")
        >>> site = fd.Site.load("notebooks/demo/box/small_plastic_pipe.toml")
        >>> kit = site.kit(box, "27 degC")
        >>> kit.to_polars().columns[:3]
        ['group', 'what', 'needed']
        """
        import polars as pl

        return pl.DataFrame(self.items, infer_schema_length=None)

    def _repr_html_(self) -> str:
        return kit_html(self)


def checked_inventory(name: str, value: Any) -> _core.Inventory:
    """Refuse what is no inventory."""
    if isinstance(value, _core.Inventory):
        return value
    raise refuse(
        f"{name}: found {value!r}; allowed: an Inventory, as Inventory.load(path) makes it",
        code="wrong-type",
        field=name,
        value=value,
        allowed="an Inventory, as Inventory.load(path) makes it",
    )


def day_on_site(
    *,
    cable_run: Any = None,
    free_length: Any = None,
    duration: Any = None,
    date: str | datetime.date | None = None,
) -> tuple[Any, Any, Any, str]:
    """Return what is known of the day for the core; without a date it is today."""
    if date is None:
        date = datetime.date.today()
    if isinstance(date, datetime.datetime):
        date = date.date()
    if not isinstance(date, str | datetime.date):
        raise refuse(
            f'date: found {date!r}; allowed: a date, or text such as "2026-03-31"',
            code="wrong-type",
            field="date",
            value=date,
            allowed='a date, or text such as "2026-03-31"',
        )
    given = {
        "cable_run": (cable_run, "m", "8 m"),
        "free_length": (free_length, "m", "1.2 m"),
        "duration": (duration, "s", "3 h"),
    }
    run, free, stays = (
        None if value is None else amount(name, value, unit, example)
        for name, (value, unit, example) in given.items()
    )
    return run, free, stays, str(date)


def names_of(name: str, names: str | Sequence[str] | None) -> list[str]:
    """Return one name or many as a list."""
    chosen = [names] if isinstance(names, str) else list(names or [])
    for one in chosen:
        if not isinstance(one, str):
            raise refuse(
                f"{name}: found {one!r}; allowed: text",
                code="wrong-type",
                field=name,
                value=one,
                allowed="text",
            )
    return chosen
