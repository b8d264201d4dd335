"""A site and all that is done with it."""

from __future__ import annotations

import os
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any, Self

from flowdoubt import _core
from flowdoubt.display.site import site_html
from flowdoubt.edge.errors import file_path
from flowdoubt.site.before_readings import BeforeReadings
from flowdoubt.site.evaluation import Evaluation
from flowdoubt.site.kit import checked_inventory
from flowdoubt.site.readings import Readings, readings_of
from flowdoubt.site.record import Record
from flowdoubt.site.sections import sections_as_json
from flowdoubt.site.series import Series, evaluate_series, status_rows
from flowdoubt.site.tables import (
    ColumnName,
    in_our_names,
    is_file,
    refuse_status,
    stated_table,
    with_our_names,
)
from flowdoubt.site.verification import Verification, VerificationResult

if TYPE_CHECKING:
    from flowdoubt._core import InterchangedZero, SoundSpeedCheck


class Site(BeforeReadings):
    """A site as described by its file: pipe, liquid, sound path, meter and installation.

    Make one with `Site.load` from a file, with `Site.from_toml` from its text, with
    `Site.from_dict` from a dictionary, or from the sections of a site file by name.

    Parameters
    ----------
    **sections
        Sections as mappings of their keys: ``site``, ``liquid``, ``pipe`` and ``path``, and where
        they are needed ``meter``, ``profile``, ``installation``, ``correlation``, ``readings``.
        Keys are those of the site file. A quantity is text such as ``"7.1 mm"``, a number beside
        its unit such as ``(7.1, "mm")`` or a pint quantity; readings are a list of these, or
        ``([7.1, 7.2], "mm")``. Where a key has no unit it takes a plain number, a flag or text.

    Raises
    ------
    FlowdoubtError
        As for `Site.from_toml`, with the path of the key, such as ``pipe.wall``; a number without
        its unit.

    Examples
    --------
    >>> site = Site(
    ...     site={"name": "cooling loop"},
    ...     liquid={"kind": "water", "absolute_pressure": "4 bar"},
    ...     pipe={
    ...         "outside_diameter": {"value": (88.9, "mm"), "half_width": (0.5, "mm"),
    ...                              "shape": "rectangular"},
    ...         "wall": {"readings": ([3.2, 3.3, 3.2], "mm")},
    ...         "material": "carbon steel",
    ...     },
    ...     path={
    ...         "basis": "timed", "traverses": 2,
    ...         "wedge_angle": (40, "deg"), "wedge_sound_speed": (2430, "m/s"),
    ...     },
    ... )
    >>> "wall = { readings = [" in site.to_toml()
    True
    """

    def __new__(cls, value: object = None, /, **sections: Any) -> Self:
        """Make a site of sections; the core makes it of a value of its own."""
        return cls.from_dict(sections) if sections else super().__new__(cls, value)

    @classmethod
    def from_dict(cls, sections: Mapping[str, Mapping[str, Any] | Sequence[Any]]) -> Self:
        """Make a site of the sections of a site file as nested mappings.

        Parameters
        ----------
        sections
            As the arguments of `Site`, such as ``{"pipe": {"wall": "7.1 mm", ...}, ...}``. What is
            ``None`` is not stated.

        Returns
        -------
        Site
            ``to_toml()`` is the file that says the same, with comments.

        Raises
        ------
        FlowdoubtError
            As for `Site.from_toml`, with the path of the key; a number without its unit.

        Examples
        --------
        >>> import tomllib
        >>> sections = tomllib.loads(Site.starter())
        >>> sections["pipe"]["wall"] = {"value": (7.1, "mm"), "standard_uncertainty": (0.05, "mm")}
        >>> site = Site.from_dict(sections)
        >>> [line["estimate"] for line in site.stated if line["input"] == "pipe.wall"]
        ['7.100']
        """
        return cls._from_sections(sections_as_json(sections))

    @staticmethod
    def starter(basis: str = "timed", liquid: str = "water") -> str:
        """Return the text of a site file to begin with, for a basis and a liquid.

        It is evaluated as it stands, with values that stand for those of the user.

        Parameters
        ----------
        basis
            ``"timed"``, ``"geometric"`` or ``"indicated"``.
        liquid
            ``"water"``, ``"sea water"``, ``"ethylene glycol"``, ``"propylene glycol"`` or
            ``"stated"``.

        Returns
        -------
        str
            TOML with comments.

        Raises
        ------
        InputError
            Another name.

        Examples
        --------
        >>> Site.from_toml(Site.starter("indicated", "sea water")).choices[2]
        ('basis', 'indicated')
        """
        return _core.Site._starter_for(basis, liquid)

    @classmethod
    def load(
        cls, path: str | os.PathLike[str], *, instruments: _core.Inventory | None = None
    ) -> Self:
        """Read a site file.

        Parameters
        ----------
        path
            The path of the file.
        instruments
            The instruments that the file names under ``[instruments]``. If not given, they are read
            from the file that it names there, which must lie below its own folder.

        Returns
        -------
        Site

        Raises
        ------
        FlowdoubtError
            Anything wrong in the file, with file, line, what was found and what is allowed.

        Examples
        --------
        >>> Site.load("notebooks/demo/site.toml").name
        'Harrowmere district cooling, plant 2, supply main'
        """
        path = file_path("path", path)
        if instruments is None:
            return super().load(path)
        inventory = checked_inventory("instruments", instruments)
        return _core.site_with_instruments(cls, path, inventory)

    def evaluate(
        self,
        readings: Readings,
        *,
        delimiter: str | None = None,
        decimal: str | None = None,
        encoding: str | None = None,
        skip_rows: int | None = None,
        sheet: str | None = None,
        columns: Mapping[str, ColumnName] | None = None,
        status: Mapping[str, Any] | None = None,
    ) -> Evaluation:
        """Evaluate readings to a volume flow with its uncertainty budget.

        Parameters
        ----------
        readings
            The path of a file with a table (CSV or the like, .xlsx), or columns by name: a mapping,
            a pandas or a polars data frame. The unit is part of the name: ``transit_time_us``,
            ``time_difference_ns``, ``temperature_degC``, ``volume_flow_m3_h``. A column that is a
            pint quantity has its unit with it and a name without one, as in ``transit_time``.
            Outputs of the meter have ``current_mA``, ``totaliser_m3``, ``pulses`` (since the row
            before) or ``pulse_count``, the last three with ``time`` or ``time_s``.
        delimiter
            What parts the columns of a text file: ``","``, ``";"``, ``"tab"`` or ``"|"``. This and
            the following are recognised from the whole table where they are neither given nor
            stated in the section ``[readings]`` of the site file; `Evaluation.how_read` says what
            was. What stays open is refused.
        decimal
            What stands before the decimals: ``"."`` or ``","``.
        encoding
            Such as ``"utf-8"``, ``"utf-16"`` or ``"latin-1"``.
        skip_rows
            Number of rows before the names of the columns.
        sheet
            The sheet of a workbook (.xlsx).
        columns
            Columns under other names, by quantity: ``{"transit_time_us": "TT"}``. A unit may be
            part of the quantity or, as in ``"TT [us]"``, of the name, stand in a row below, or be
            stated: ``{"transit_time": {"name": "TT", "unit": "us"}}``. A time may have two columns,
            ``["date", "clock"]``; what is a ``remark`` is left out.
        status
            A column of a file with the status of the meter or the logger, and the status of rows
            to use, as in ``{"state": ["ok"]}``; the others are left out, and a warning counts them.

        Returns
        -------
        Evaluation
            Volume flow, budget and all that follows from them.

        Raises
        ------
        FlowdoubtError
            A column that is missing, unknown or not of numbers; a table that can be read in more
            ways than one; estimates outside the model.

        Examples
        --------
        >>> import flowdoubt as fd
        >>> site = fd.Site.load("notebooks/demo/site.toml")
        >>> evaluation = site.evaluate("notebooks/demo/readings.csv")
        >>> print(f"{evaluation.value():.0f} {evaluation.unit}")
        1044 m3/h
        """
        stated = stated_table(
            delimiter, decimal, encoding, skip_rows, sheet, columns, status_rows(status)
        )
        if not is_file(readings):
            refuse_status(self, readings, status)
            readings = with_our_names(self, readings, stated)
        return self._evaluate(readings_of(readings), stated)

    def evaluate_series(
        self,
        table: Readings,
        *,
        time: Any = None,
        interval: Any = None,
        time_zone: str | None = None,
        rule: str = "trapezoid",
        gaps: str = "leave_out",
        gap_factor: float = 1.5,
        repeatability: Mapping[str, Any] | str | None = None,
        no_flow: Readings | None = None,
        time_constant: Any = None,
        window: Any = None,
        status: Mapping[str, Any] | None = None,
        signal: Mapping[str, float] | str | None = None,
        faults: Mapping[str, Any] | str | None = None,
        reverse: str = "net",
        low_flow_cut_off: Any = None,
        period: str | None = None,
        delimiter: str | None = None,
        decimal: str | None = None,
        encoding: str | None = None,
        skip_rows: int | None = None,
        sheet: str | None = None,
        columns: Mapping[str, ColumnName] | None = None,
        progress: bool = False,
    ) -> Series:
        """Evaluate a log row by row, and its total volume.

        What is known of pipe, liquid, path and meter is the same in all rows: its deviation stays
        correlated through time and does not average out. The uncertainties of the profile law and
        of the formulations of the liquid are each one deviation, scaled to the size that they
        have in the state of the row. The scatter of single readings averages out, and the more
        slowly the longer it lasts. Times are taken as exact.

        Parameters
        ----------
        table
            As for `evaluate`, but readings may be missing (NaN, empty).
        time
            The times, or the name of their column: text after RFC 3339, numpy, pandas or polars
            datetimes. If not given, a column ``time``, a column of numbers ``time_s``, or the
            index of a pandas data frame. Times that know their zone are compared in universal
            time; others are those of the clock.
        interval
            In place of times, where the log has none: the constant time from one row to the next,
            in seconds, as text such as ``"1 min"``, a timedelta or a pint quantity. Nothing is
            averaged over it.
        time_zone
            The zone of a clock on a wall, by its name in the IANA database, such as
            ``"Europe/Berlin"``: for times without an offset from universal time. The hour that is
            run through twice in autumn is told apart, and that of spring is no gap.
        rule
            How the flow goes between two rows: ``"trapezoid"`` on a straight line, for readings of
            a moment; ``"hold"`` until the next row (the last of a stretch for the usual step), for
            means of the time that follows; ``"since"`` the row before (the first of a stretch for
            the usual step), for means of the time before. Counts (columns ``pulses``,
            ``pulse_count``, ``totaliser_m3``) are flows since the row before, whatever the rule.
        gaps
            What becomes of gaps: ``"leave_out"`` of the total; ``"hold"`` the flow before, or
            ``"interpolate"`` on a straight line. What they were filled with is stated, and its
            uncertainty is not in the budget.
        gap_factor
            A step longer than this many usual steps (their median) is a gap; above 1.
        repeatability
            Standard deviations of single readings by channel (``"time_difference"``,
            ``"transit_time"``, ``"temperature"``, ``"volume_flow"``, ``"velocity"``,
            ``"current"``), as text with a unit or pint quantity; ``"none"`` if scatter is not to
            count. That of a channel not named is estimated from second differences of rows, and of
            means of rows, that follow each other: these leave out the course of the flow and find
            how long scatter lasts.
        no_flow
            Readings at no flow, pipe full and valves shut, at the same interval, as for `evaluate`:
            their scatter, and how long it lasts, stands for that of the channels that they have
            and `repeatability` has not.
        time_constant, window
            How the meter damps its readings, where it is known: the time constant of a lag of first
            order or the length of a moving window, as `interval`. A lower bound of how long scatter
            lasts.
        status
            A column and the status, or list of them, of rows to use: ``{"state": ["ok", "0"]}``.
        signal
            A column of the strength or quality of the signal, which is carried into the result; as
            ``{"quality": 40}`` with the least of rows to use.
        faults
            Limits beyond which rows are rejected, by name: ``codes`` (whether codes of loggers for
            errors, currents that tell a fault and numbers beyond any meter are looked for),
            ``spikes`` (10: times the scatter from the median of the seven rows about; where more
            than one row in a hundred stands out, none is rejected), ``velocity`` (20 m/s),
            ``sound_speed`` (0.10: relative difference of measured and expected time in the
            liquid). ``None`` switches one off, ``"none"`` all. Every row is listed with its reason
            in ``rejected``.
        reverse
            ``"net"``: reverse flow is taken off the total. ``"separate"``: as well, and forward and
            reverse flow have totals of their own in `Series.directions`.
        low_flow_cut_off
            The flow below which the meter shows none, as text with a unit or pint quantity: smaller
            flows count as none, and as unknown within the cut-off.
        period
            ``"day"``, ``"week"`` or ``"month"``, for totals of calendar periods as well, in the
            time zone of the clock, or of universal time where times have offsets.
        delimiter, decimal, encoding, skip_rows, sheet, columns
            How the file is written, where that is not left to recognition, as for `evaluate`; of a
            frame ``columns`` alone. `Series.how_read` says what was recognised.
        progress
            Show a progress bar (tqdm).

        Returns
        -------
        Series
            ``columns()``, ``to_pandas()``, ``to_polars()``, ``total`` (a budget, in m3),
            ``rejected`` and ``gaps`` (columns that a data frame takes as they are), ``counts``,
            ``warnings``, ``clock``, ``periods()``.

        Raises
        ------
        FlowdoubtError
            A column that is missing, unknown or not of numbers; no times; a scatter that too few
            rows tell; no row that can be used.
        ModuleNotFoundError
            Without the package tqdm, where a progress bar is asked for.

        Examples
        --------
        >>> site = Site.load("notebooks/demo/site.toml")
        >>> series = site.evaluate_series("notebooks/demo/readings.csv")
        >>> print(series.total.result_in_words.partition(", effective")[0])
        total volume: 520.8 m3, combined standard uncertainty 7.4 m3
        >>> series.counts["used"], series.duration_s
        (360, 1795.0)
        """
        return evaluate_series(
            self,
            table,
            time=time,
            interval=interval,
            time_zone=time_zone,
            rule=rule,
            gaps=gaps,
            gap_factor=gap_factor,
            repeatability=repeatability,
            no_flow=no_flow,
            time_constant=time_constant,
            window=window,
            status=status,
            signal=signal,
            faults=faults,
            reverse=reverse,
            low_flow_cut_off=low_flow_cut_off,
            period=period,
            stated=stated_table(delimiter, decimal, encoding, skip_rows, sheet, columns),
            progress=progress,
        )

    def zero_from_interchange(
        self, before: Readings, interchanged: Readings, after: Readings
    ) -> InterchangedZero:
        """Find the zero where the line cannot be stopped.

        The sensors are interchanged, or mounted the other way round, for the second run, and put
        back for the third. The flow reads negative in between, the zero keeps its sign. Make the
        runs equally long and let as little time pass between them as you can; what the flow did in
        between is in the uncertainty, and `steady` says whether it stood still.

        Parameters
        ----------
        before, interchanged, after
            Readings of the three runs, as for `evaluate`: a time difference, or a velocity on the
            indicated basis.

        Returns
        -------
        InterchangedZero
            ``zero`` with ``standard_uncertainty`` and ``dof`` in s, or in m/s where
            ``is_velocity``; ``reading_of_flow``; ``change`` from the first to the last run with
            ``change_uncertainty``, and ``steady``.

        Raises
        ------
        FlowdoubtError
            A run without the column; a second run whose reading has the sign of the others.

        Notes
        -----
        ``z = (d_1 + 2 d_2 + d_3) / 4``: a flow that changes evenly leaves no error.

        Examples
        --------
        >>> import flowdoubt as fd
        >>> site = fd.Site.load("notebooks/demo/site.toml")
        >>> before = {"time_difference_ns": [800.0, 800.4, 799.8]}
        >>> interchanged = {"time_difference_ns": [-799.6, -800.0, -799.2]}
        >>> zero = site.zero_from_interchange(before, interchanged, before)
        >>> str(zero)[:12]
        'zero 0.23 ns'
        """
        given = (before, interchanged, after)
        runs = (readings_of(in_our_names(self, readings)) for readings in given)
        return self._zero_from_interchange(*runs)

    def check_sound_speed(self, readings: Readings) -> SoundSpeedCheck:
        """Compare the measured sound speed of the liquid with the one expected from its state.

        Parameters
        ----------
        readings
            As for `evaluate`, with a transit time.

        Returns
        -------
        SoundSpeedCheck
            Measured and expected sound speed, and what may explain their difference.

        Raises
        ------
        FlowdoubtError
            As for `evaluate`; no transit time, or a sound path that is not known.

        Examples
        --------
        >>> import flowdoubt as fd
        >>> site = fd.Site.load("notebooks/demo/site.toml")
        >>> readings = {
        ...     "transit_time_us": [609.5, 609.6],
        ...     "time_difference_ns": [800.0, 801.0],
        ...     "temperature_degC": [8.1, 8.1],
        ... }
        >>> site.check_sound_speed(readings).agrees
        True
        """
        return self.evaluate(readings).sound_speed_check()

    def verify(self, verification: Verification | str | os.PathLike[str]) -> VerificationResult:
        """Compare the meter with a reference, run by run and flow point by flow point.

        The file says which of three questions is asked, and the uncertainty of the error is that of
        the question: ``"error as installed"`` (of reference, transfer and repeatability),
        ``"error of the meter"`` (with bore, profile and mounting of the test pipe, for use
        elsewhere) or ``"agreement"`` of two results (both whole budgets).

        Parameters
        ----------
        verification
            The path of a verification file, or what was read from one. Readings lie below its
            folder; ``Verification.load(path, readings_below=folder)`` allows another one.

        Returns
        -------
        VerificationResult
            ``runs`` and ``points`` (lists of dictionaries, units in the names of their keys, errors
            as ratios; a data frame takes them as they are), ``question``, ``indicated`` and
            ``fixed`` (what the error contains), ``error_covariance``, ``line``, ``verdict``,
            ``accepted``, ``headline``, ``monte_carlo(...)``.

        Raises
        ------
        FlowdoubtError
            Anything wrong in the file or its readings, with file and line; a reference that does
            not fit the liquid of the site; estimates that no run can have.

        Examples
        --------
        >>> site = Site.load("notebooks/demo/site.toml")
        >>> result = site.verify("notebooks/demo/verification.toml")
        >>> [round(100 * point["error"], 2) for point in result.points]
        [-1.28, -1.06, -1.16]
        """
        if not isinstance(verification, Verification):
            verification = Verification.load(verification)
        return _core.verify(self, verification)

    def calibrated_by(self, found: VerificationResult | Record | str | os.PathLike[str]) -> Site:
        """Put the result of a verification back into the site, as its in-situ calibration.

        The site that comes back evaluates with the factor that the verification found at each flow
        point, with straight lines between and the covariance of the points. What the factor
        contains counts no more by itself. The error as installed belongs to this pipe and this
        mounting; once the sensors have been off, write ``sensors = "mounted anew"`` in the section,
        and placement, zero and repeatability count again. The error of the meter belongs to meter
        and sensors on any pipe.

        Parameters
        ----------
        found
            The result of `verify`, or the record of one.

        Returns
        -------
        Site
            Its ``text`` is that of the site file, comments and all, with the section
            ``[in_situ_calibration]`` at its end; ``save`` writes it.

        Raises
        ------
        FlowdoubtError
            The agreement of two results, or the flow that the meter showed, was asked; the pipe,
            the meter or the choices of the site are not those of the verification; there is an
            in-situ calibration already.

        Examples
        --------
        >>> site = Site.load("notebooks/demo/site.toml")
        >>> calibrated = site.calibrated_by(site.verify("notebooks/demo/verification.toml"))
        >>> calibrated.text.startswith(site.text), "in_situ_calibration" in calibrated.text
        (True, True)
        """
        if isinstance(found, str | os.PathLike):
            found = Record.load(found)
        if isinstance(found, _core.Record):
            found = found.verified()
        return _core.calibrated_by(self, found)

    def save(self, path: str | os.PathLike[str], overwrite: bool = False) -> None:
        """Write the text of the site file; a file is there as a whole or not at all.

        Parameters
        ----------
        path
            The file.
        overwrite
            Whether a file that exists may be replaced. It is written whole or not at all.

        Raises
        ------
        RecordError
            A file that exists, unless `overwrite` is asked for.
        InputError
            A file that cannot be written.

        Examples
        --------
        >>> import flowdoubt as fd
        >>> site = fd.Site.load("notebooks/demo/site.toml")
        >>> import os, tempfile
        >>> folder = tempfile.mkdtemp()
        >>> site.save(f"{folder}/site.toml")
        >>> os.listdir(folder)
        ['site.toml']
        """
        _core.write_whole(path, self.text.encode(), overwrite)

    def _repr_html_(self) -> str:
        return site_html(self)
