"""The evaluation of a site: what takes Python of it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any, Literal, overload

from flowdoubt import _core
from flowdoubt.display.evaluation import evaluation_html
from flowdoubt.edge.quantities import result_of
from flowdoubt.models.jobs import kept_or_tallied
from flowdoubt.site.plan import Amount, Target, wanted_and_request
from flowdoubt.site.readings import readings_of
from flowdoubt.site.record import Record
from flowdoubt.site.tables import in_our_names

if TYPE_CHECKING:
    from concurrent.futures import Executor

    from flowdoubt._core import Reconciliation, TalliedTrials, ZeroCheck
    from flowdoubt.models.trials import Trials
    from flowdoubt.site.readings import Readings


class Evaluation(_core.Evaluation):
    """A volume flow with everything it rests on; `Site.evaluate` makes it."""

    def to_pint(self, registry: Any = None) -> tuple[Any, Any]:
        """Return volume flow and standard uncertainty as pint quantities.

        Parameters
        ----------
        registry
            The registry that they belong to, ``pint.application_registry`` if not given.

        Returns
        -------
        tuple
            Volume flow and standard uncertainty, in `unit`.

        Raises
        ------
        ModuleNotFoundError
            Without the package pint, where no registry is given.
        InputError
            A unit that the registry does not know.

        Examples
        --------
        >>> import flowdoubt as fd
        >>> site = fd.Site.load("notebooks/demo/site.toml")
        >>> evaluation = site.evaluate("notebooks/demo/readings.csv")
        >>> flow, u = evaluation.to_pint()
        >>> f"{u:.0f~P}"
        '15 m³/h'
        """
        return result_of(self, registry)

    @overload
    def monte_carlo(
        self,
        trials: int = 1_000_000,
        seed: int = 1,
        *,
        keep: Literal[True] | None = None,
        executor: None = None,
        progress: bool = False,
    ) -> Trials: ...
    @overload
    def monte_carlo(
        self,
        trials: int = 1_000_000,
        seed: int = 1,
        *,
        keep: Literal[False],
        executor: Executor | None = None,
        progress: bool = False,
    ) -> TalliedTrials: ...
    @overload
    def monte_carlo(
        self,
        trials: int = 1_000_000,
        seed: int = 1,
        *,
        keep: Literal[False] | None = None,
        executor: Executor,
        progress: bool = False,
    ) -> TalliedTrials: ...
    def monte_carlo(
        self,
        trials: int = 1_000_000,
        seed: int = 1,
        *,
        keep: bool | None = None,
        executor: Executor | None = None,
        progress: bool = False,
    ) -> Trials | TalliedTrials:
        """Propagate the distributions by Monte Carlo (JCGM 101:2008).

        Parameters
        ----------
        trials
            Number of trials, 100 or above.
        seed
            Same seed, same bits, whatever the threads and wherever the jobs run.
        keep
            Whether all values are kept, which takes 8 bytes a trial. If not given, they are unless
            there is an executor.
        executor
            An executor of `concurrent.futures` whose workers make the trials, as jobs.
        progress
            Show a progress bar (tqdm).

        Returns
        -------
        Trials or TalliedTrials
            With values or without.

        Raises
        ------
        FlowdoubtError
            Fewer trials than 100, values kept beside an executor, a trial without a result.
        ModuleNotFoundError
            Without the package tqdm, where a progress bar is asked for.

        Examples
        --------
        >>> import flowdoubt as fd
        >>> site = fd.Site.load("notebooks/demo/site.toml")
        >>> evaluation = site.evaluate("notebooks/demo/readings.csv")
        >>> trials = evaluation.monte_carlo(trials=10_000, seed=1)
        >>> round(trials.mean)
        1045
        """
        return kept_or_tallied(self, trials, seed, keep, executor, progress)

    def zero_check(self, readings: Readings) -> ZeroCheck:
        """Compare readings at no flow with the zero that the site states.

        Parameters
        ----------
        readings
            As for `Site.evaluate`, taken with the pipe full and the valves shut.

        Returns
        -------
        ZeroCheck

        Raises
        ------
        FlowdoubtError
            Readings without a time difference, or without a velocity on the indicated basis.

        Examples
        --------
        >>> import flowdoubt as fd
        >>> site = fd.Site.load("notebooks/demo/site.toml")
        >>> evaluation = site.evaluate("notebooks/demo/readings.csv")
        >>> evaluation.zero_check({"time_difference_ns": [0.1, 0.2, 0.15, 0.12]}).agrees
        True
        """
        return self._zero_check(readings_of(in_our_names(_core.site_of(self), readings)))

    def reconciled(self) -> Reconciliation:
        """Return the evaluation with inputs reconciled with the measured transit time.

        Returns
        -------
        Reconciliation
            The evaluation before and after, with what was adjusted.

        Raises
        ------
        FlowdoubtError
            No transit time, or a sound path that is not known.

        Examples
        --------
        >>> import flowdoubt as fd
        >>> site = fd.Site.load("notebooks/demo/site.toml")
        >>> evaluation = site.evaluate("notebooks/demo/readings.csv")
        >>> evaluation.reconciled().is_consistent
        True
        """
        return _core.reconciled(self)

    def target(
        self,
        target: Amount,
        *,
        costs: Mapping[str, float] | None = None,
        lowest: Mapping[str, str] | None = None,
    ) -> Target:
        """Return the way to a wanted expanded uncertainty: what to improve first.

        Parameters
        ----------
        target
            The expanded uncertainty that is wanted, as text such as ``"1 %"`` or ``"8 m3/h"``.
        costs, lowest
            As for `Site.plan`.

        Returns
        -------
        Target
            True if it can be reached.

        Raises
        ------
        FlowdoubtError
            Names that are no inputs, costs that are not above 0, a cost for one of the inputs that
            are correlated and not for the others.

        Examples
        --------
        >>> import flowdoubt as fd
        >>> site = fd.Site.load("notebooks/demo/site.toml")
        >>> evaluation = site.evaluate("notebooks/demo/readings.csv")
        >>> bool(evaluation.target("3 %")), bool(evaluation.target("0.1 %"))
        (True, False)
        """
        return _core.target_of(self, *wanted_and_request(target, costs, lowest))

    def record(
        self,
        trials: Trials | None = None,
        digits: int = 2,
        at_no_flow: Readings | None = None,
    ) -> Record:
        """Return the record, with what was done beside the evaluation.

        Parameters
        ----------
        trials
            What `monte_carlo` returned, with all values kept.
        digits
            Significant digits of the uncertainty for which first order is compared with trials.
        at_no_flow
            Readings at no flow that were compared with the stated zero.

        Returns
        -------
        Record

        Raises
        ------
        FlowdoubtError
            As for `zero_check`; more trials than a record may have; a negative number of digits.

        Examples
        --------
        >>> import flowdoubt as fd
        >>> site = fd.Site.load("notebooks/demo/site.toml")
        >>> evaluation = site.evaluate("notebooks/demo/readings.csv")
        >>> bool(evaluation.record().reproduce())
        True
        """
        given = at_no_flow
        if given is not None:
            given = readings_of(in_our_names(_core.site_of(self), given))
        return _core.Record.of(self, trials, digits, given)

    def _repr_html_(self) -> str:
        return evaluation_html(self)
