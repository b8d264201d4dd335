"""What a site tells before there are readings of it."""

from __future__ import annotations

import datetime
import os
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from flowdoubt import _core
from flowdoubt.edge.errors import file_path
from flowdoubt.site.commissioning import Commissioned, Commissioning
from flowdoubt.site.kit import KitList, checked_inventory, day_on_site, names_of
from flowdoubt.site.mark_out import MarkOut
from flowdoubt.site.plan import Amount, Amounts, Basis, Plan, Scatter, site_plan, temperatures_of
from flowdoubt.site.readings import amount

if TYPE_CHECKING:
    import flowdoubt as fd


class BeforeReadings(_core.Site):
    """A site as far as it needs no readings: mark-out, commissioning, kit and plan."""

    def mark_out(
        self,
        *,
        temperature: Amount | None = None,
        temperature_standard_uncertainty: Amount = "0 K",
        velocity: Amount = "1 m/s",
    ) -> MarkOut:
        """Tell where the sensors go on the pipe, and what it costs to miss the place.

        No readings are needed.

        Parameters
        ----------
        temperature
            Temperature of the liquid in operation as text such as ``"8 degC"``, where the
            site file leaves it to the readings.
        temperature_standard_uncertainty
            Its standard uncertainty, such as ``"0.5 K"``, besides that of the thermometer in the
            site file.
        velocity
            Mean velocity on the path, such as ``"1 m/s"``, at which the cost of a placement error
            is computed. It matters little.

        Returns
        -------
        MarkOut
            Axial spacing, circumference and half circumference with their standard uncertainties,
            tolerances, warnings; ``flow_change(...)``, ``sheet("sheet.pdf")``, ``svg()``.

        Raises
        ------
        InputError
            Something that the sound path rests on and the site does not state; a temperature that
            is missing, stated already or of no effect.
        UnitError
            Text that is no temperature or velocity.
        RangeError
            No sound path, a pipe without bore, a liquid outside its formulation.

        Examples
        --------
        >>> import flowdoubt as fd
        >>> site = fd.Site.load("notebooks/demo/site.toml")
        >>> mark_out = site.mark_out(temperature="8 degC")
        >>> round(1e3 * mark_out.spacing_m, 1), mark_out.direct
        (344.6, False)
        """
        return _core.mark_out(
            self,
            None if temperature is None else amount("temperature", temperature, "K", "8 degC"),
            amount(
                "temperature_standard_uncertainty",
                temperature_standard_uncertainty,
                "delta_degC",
                "0.5 K",
            ),
            amount("velocity", velocity, "m/s", "1 m/s"),
        )

    def commissioning(
        self,
        *,
        temperature: Amount | None = None,
        temperature_standard_uncertainty: Amount = "0 K",
        flow: Amount | None = None,
    ) -> Commissioning:
        """List the steps of commissioning with the numbers of this site and what each should show.

        Limits follow from the inputs of the site by propagation through its model, at its coverage
        probability: a right meter on the pipe of the site file lies outside of one of them in 5 %
        of all cases where that is 95 %. Where no number can be had so, a step is a box to tick.

        Parameters
        ----------
        temperature
            Temperature of the liquid that is foreseen, as text such as ``"8 degC"``, where the site
            file leaves it to the readings. What is noted on site counts in its place.
        temperature_standard_uncertainty
            Its standard uncertainty, such as ``"0.5 K"``, besides that of the thermometer in the
            site file.
        flow
            Volume flow that is foreseen, such as ``"300 m3/h"``, for the time difference to come.

        Returns
        -------
        Commissioning
            ``steps``, ``page("commissioning.pdf")``, ``form()`` and ``save_form("form.toml")``.

        Raises
        ------
        InputError
            Something that the sound path rests on and the site does not state; a temperature that
            is missing, stated already or of no effect.
        UnitError
            Text that is no temperature or flow.
        RangeError
            No sound path, a liquid outside its formulation, a flow that is not above 0 or at which
            the site cannot measure.

        Examples
        --------
        >>> import flowdoubt as fd
        >>> site = fd.Site.load("notebooks/demo/site.toml")
        >>> steps = site.commissioning(temperature="8 degC").steps
        >>> (speed,) = (e for s in steps for e in s["entries"] if e["key"] == "sound_speed")
        >>> speed["lower_limit"] < 1440.0 < speed["upper_limit"], speed["unit"]
        (True, 'm/s')
        """
        return _core.commissioning(
            self,
            None if temperature is None else amount("temperature", temperature, "K", "8 degC"),
            amount(
                "temperature_standard_uncertainty",
                temperature_standard_uncertainty,
                "delta_degC",
                "0.5 K",
            ),
            None if flow is None else amount("flow", flow, "m**3/s", "300 m3/h"),
        )

    def read_commissioning(self, path: str | os.PathLike[str]) -> Commissioned:
        """Read the form of a commissioning that was filled in, and judge what was found.

        What is expected is computed once more, at the temperature that was noted.

        Parameters
        ----------
        path
            The file, in the form of ``site.commissioning(...).form()``.

        Returns
        -------
        Commissioned
            ``as_it_should_be``, ``steps``, ``sound_speed``, ``taken_over(paths)``.

        Raises
        ------
        FlowdoubtError
            A form of another site file, or of this one as it was; anything wrong in the file, with
            line, what was found and what is allowed.

        Examples
        --------
        >>> import flowdoubt as fd
        >>> import tempfile, pathlib
        >>> site = fd.Site.load("notebooks/demo/site.toml")
        >>> folder = tempfile.TemporaryDirectory()
        >>> path = pathlib.Path(folder.name) / "form.toml"
        >>> site.commissioning(temperature="8 degC").save_form(path)
        >>> site.read_commissioning(path).as_it_should_be  # nothing is filled in yet
        False
        >>> folder.cleanup()
        """
        return _core.read_commissioning(self, file_path("path", path))

    def commissioned(self, text: str) -> Commissioned:
        """Judge the text of a form that was filled in, as `read_commissioning` does a file.

        Parameters
        ----------
        text
            TOML, in the form of ``site.commissioning(...).form()``.

        Returns
        -------
        Commissioned
            ``as_it_should_be``, ``steps``, ``sound_speed``, ``taken_over(paths)``.

        Raises
        ------
        FlowdoubtError
            As for `read_commissioning`.

        Examples
        --------
        >>> import flowdoubt as fd
        >>> site = fd.Site.load("notebooks/demo/site.toml")
        >>> steps = site.commissioning(temperature="8 degC")
        >>> site.commissioned(steps.form()).as_it_should_be
        False
        """
        return _core.commissioned(self, text, "<text>")

    def using(
        self,
        instruments: _core.Inventory,
        *,
        sensors: str | None = None,
        electronics: str | None = None,
        cables: str | None = None,
        couplant: str | None = None,
        mounting: str | Sequence[str] | None = None,
    ) -> fd.Site:
        """Return the site with instruments in place of those that it states.

        What an instrument states stands in the text of the new site, with the instrument in its
        evidence, so that a record of it stands on its own. A calibration certificate of what is
        used gives the calibration factor; without one there is none. What is not named stays.

        Parameters
        ----------
        instruments
            Where they are described.
        sensors, electronics, cables, couplant
            Their names there.
        mounting
            The names of what holds the sensors.

        Returns
        -------
        Site

        Raises
        ------
        InputError
            A name that is not there; an in-situ calibration, or a spacing that decides the angle
            of the ray, both of which belong to other sensors.

        Examples
        --------
        >>> import flowdoubt as fd
        >>> box = fd.Inventory.load("notebooks/demo/box/instruments.toml")
        >>> site = fd.Site.load("notebooks/demo/site.toml").using(box, sensors="wide pair")
        >>> dict(site.choices)["sensors"]
        'wide pair, serial number HM 0204'
        """
        return _core.site_using(
            self,
            checked_inventory("instruments", instruments),
            sensors,
            electronics,
            cables,
            couplant,
            names_of("mounting", mounting),
        )

    def kit(
        self,
        instruments: _core.Inventory,
        temperatures: Amounts | None = None,
        *,
        cable_run: Amount | None = None,
        free_length: Amount | None = None,
        duration: Amount | None = None,
        date: str | datetime.date | None = None,
    ) -> KitList:
        """List what to take to site and what to see to before leaving, and what of it is there.

        What the site uses by name is looked for first, then whatever fits pipe, wall, temperature
        and spacing. The inventory is what one owns, or what was delivered: each item is there,
        missing, of the wrong kind or size, out of its temperature range or overdue, and what is
        not needed is told.

        Parameters
        ----------
        instruments
            What one owns, or what was delivered.
        temperatures
            Temperatures of the liquid that will be met, as for `plan`.
        cable_run
            Way from the sensors to the electronics, such as ``"8 m"``.
        free_length
            Free length along the pipe, such as ``"1.2 m"``.
        duration
            How long the sensors stay, such as ``"3 h"`` or ``"30 days"``.
        date
            The day, for certificates, such as ``"2026-03-31"``; today if not given.

        Returns
        -------
        KitList

        Raises
        ------
        FlowdoubtError
            A temperature that is missing or of no effect, no sound path, a length or time that is
            not above 0, text that is no day.

        Examples
        --------
        >>> import flowdoubt as fd
        >>> box = fd.Inventory.load("notebooks/demo/box/instruments.toml")
        >>> site = fd.Site.load("notebooks/demo/box/hot_steel_main.toml")
        >>> kit = site.kit(box, cable_run="4 m", date="2026-05-30")
        >>> kit.complete, kit.items[0]["found"]
        (True, 'pair for hot steel, serial number HM 0311')
        >>> delivered = fd.Inventory.load("notebooks/demo/box/delivered.toml")
        >>> site.kit(delivered, date="2026-05-30").items[0]["status"]
        'out of temperature range'
        """
        day = day_on_site(
            cable_run=cable_run, free_length=free_length, duration=duration, date=date
        )
        inventory = checked_inventory("instruments", instruments)
        return _core.kit_list(self, inventory, temperatures_of(temperatures), day)

    def plan(
        self,
        flows: Amounts,
        temperatures: Amounts | None = None,
        *,
        traverses: int | Sequence[int] | None = None,
        bases: Basis | Sequence[Basis] | None = None,
        straight_runs: str | Sequence[str] | None = None,
        orientations: str | Sequence[str] | None = None,
        planes: int | Sequence[int] | None = None,
        scatter: Scatter | None = None,
        readings: int | None = None,
        target: Amount | None = None,
        costs: Mapping[str, float] | None = None,
        lowest: Mapping[str, str] | None = None,
        free_length: Amount | None = None,
        rail: tuple[Amount, Amount] | None = None,
        efforts: Mapping[str, float] | None = None,
        instruments: _core.Inventory | None = None,
        cable_run: Amount | None = None,
        duration: Amount | None = None,
        date: str | datetime.date | None = None,
    ) -> Plan:
        """Expect the uncertainty of a volume flow before anybody goes to site.

        For each flow the measurement model is solved for the readings that would stand for it,
        and these are evaluated like readings that were taken. What is given as a list is compared:
        there is a point for every flow, temperature and combination.

        Parameters
        ----------
        flows
            Volume flows: text such as ``"100 m3/h"``, or pint quantities.
        temperatures
            Temperatures of the liquid: text such as ``"15 degC"``, or pint quantities. Not needed
            where the site file states one, whose uncertainty stays.
        traverses
            Numbers of crossings of the liquid: odd for direct paths, even for reflected ones.
        bases
            ``"timed"`` or ``"geometric"``; a meter that indicates cannot be changed.
        straight_runs, orientations
            Where the site file names a fitting: straight runs such as ``"8 D"`` or ``"2.4 m"``, and
            angles between path and plane of the bend such as ``"90 deg"``. Their uncertainty stays.
        planes
            Numbers of crossed planes, 1 or 2, where the site file names a fitting.
        scatter
            How far single readings scatter: text by channel, such as
            ``{"time_difference": ["2 ns", "0.5 %"], "transit_time": "10 ns"}`` (a list is added in
            quadrature), or the readings of a trial run as for `evaluate`. What is not stated is
            assumed, and the budget says so: 1 ns and 1 % of the time difference, 10 ns of the
            transit time, 0.1 K, 1 % of what a meter indicates.
        readings
            Number of readings to be taken, 30 if neither this nor a trial run says.
        target
            The expanded uncertainty that is wanted, as text such as ``"1 %"`` or ``"8 m3/h"``; see
            ``targets`` below.
        costs
            The price of effort by input. Bringing a standard uncertainty down to the fraction ``s``
            costs ``cost * (1 / s - 1)``: nothing for leaving it, ``cost`` for halving it. Inputs
            without a price stay as they are; without ``costs`` every input has the price 1 that
            somebody states or reads.
        lowest
            The lowest standard uncertainty that can be had, by input, as text with a unit; zero
            where none is given.
        free_length
            Free length along the pipe, such as ``"1.2 m"``: spacing and length of a sensor, as
            ``path.sensor_length`` states it, must fit into it.
        rail
            The smallest and the largest spacing that a rail or frame holds, such as ``("50 mm",
            "400 mm")``.
        efforts
            The effort of each alternative by its label, in a unit that all share, such as hours. If
            not given it is counted, by our convention: 1 for each sensor position, 1 for each plane
            with sensors on opposite sides, 1 for another place along the pipe than the stated one.
        instruments
            An `Inventory`, of which every pair of sensors is tried with all electronics on each of
            the paths, in place of what the site states; cables, couplant and what holds the sensors
            are the cheapest that fit. ``not_fitting`` tells what does not fit this pipe and these
            temperatures, and why; ``cheapest_on_target`` which set reaches the target at the lowest
            cost.
        cable_run, duration, date
            With instruments: as for `kit`.

        Returns
        -------
        Plan
            ``comparison`` (a `PlanComparison`: the alternatives side by side, ranked by
            uncertainty, by effort and by spacing; one that does not fit comes after all that do),
            ``points`` (a list of dictionaries, units in the names of their keys, with a component's
            share of the variance and its standard uncertainty; where nothing can be measured
            ``feasible`` is false and ``reason`` says why), ``rows(si=True)``, ``contributions``
            (one for each point and input), ``windows`` (lowest and highest flow, velocity, Reynolds
            number and temperature of each alternative, and what lies beyond), ``to_pandas()``,
            ``to_polars()``, ``budget(i)``, ``warnings(i)``, ``rehearsal(i)`` (made-up readings with
            the planned mean and scatter), ``site_text(alternative)``. With a target ``targets`` has
            a `Target` for each point that has a result, and ``reachable`` says whether one
            alternative at least reaches it at each flow and temperature.

        Raises
        ------
        FlowdoubtError
            Flows that are not above 0, temperatures that are missing or of no effect, names,
            texts and numbers that do not fit; each names the argument.

        Notes
        -----
        Readings are taken as independent of each other, and degrees of freedom of inputs as they
        are. A target is judged with the coverage factor of the improved budget.

        Examples
        --------
        >>> import flowdoubt as fd
        >>> site = fd.Site.load("notebooks/demo/site.toml")
        >>> plan = site.plan(["200 m3/h", "1000 m3/h"], "8 degC", traverses=[1, 2])
        >>> [round(100 * point["relative_expanded_uncertainty"], 1) for point in plan.points]
        [3.1, 2.9, 2.9, 2.8]
        >>> plan = site.plan("1000 m3/h", "8 degC", target="2.6 %")
        >>> print(plan.targets[0].headline)
        target 2.6 %: least effort 2.20, 4 inputs improved
        >>> plan = site.plan("1000 m3/h", "8 degC", traverses=[1, 2], free_length="0.3 m")
        >>> plan.comparison.to_pandas()["fits"].to_dict()
        {'1 traverse (direct)': None, '2 traverses (reflected)': False}
        """
        return site_plan(
            self,
            flows,
            temperatures,
            traverses=traverses,
            bases=bases,
            straight_runs=straight_runs,
            orientations=orientations,
            planes=planes,
            scatter=scatter,
            readings=readings,
            target=target,
            costs=costs,
            lowest=lowest,
            free_length=free_length,
            rail=rail,
            efforts=efforts,
            instruments=instruments,
            cable_run=cable_run,
            duration=duration,
            date=date,
        )
