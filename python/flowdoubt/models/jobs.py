"""Monte Carlo runs: on the threads inside, or as jobs of an executor of concurrent.futures."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, Protocol, TypeAlias

from flowdoubt._core import Tallied, TalliedTrials, Tally, TallyPlan
from flowdoubt.edge.errors import refuse, whole

if TYPE_CHECKING:
    from concurrent.futures import Executor, Future

    from flowdoubt.models.trials import Trials

Looker: TypeAlias = Callable[[int], None]


class Source(Protocol):
    """Model and inputs of a run. It is pickled with every job."""

    def _tally(self, plan: TallyPlan, looker: Looker | None) -> Tallied:
        """Make all trials of a run."""

    def _tally_part(self, plan: TallyPlan, first: int, last: int, looker: Looker | None) -> bytes:
        """Make the trials of some leaves of a run, on the calling thread."""

    def _tally_finish(self, plan: TallyPlan, tally: Tally) -> Tallied:
        """Return the results of a complete tally."""


class _Token:
    """Tells jobs on threads of this process to stop; jobs elsewhere get one of their own."""

    def __init__(self) -> None:
        self.cancelled = False

    def __call__(self, done: int) -> None:
        if self.cancelled:
            from concurrent.futures import CancelledError

            raise CancelledError

    def __reduce__(self) -> tuple[type[_Token], tuple[()]]:
        return _Token, ()


# Leaves (of 2048 trials) of a job. Bits do not depend on it: the smallest job outweighs being sent,
# the largest is cut short soon enough.
_FEWEST_LEAVES, _MOST_LEAVES = 32, 2048
# Jobs that a run is cut into where their size permits, and those handed over at the same time.
_JOBS, _WAITING = 64, 256


def _job(source: Source, plan: TallyPlan, first: int, last: int, token: _Token) -> bytes:
    return source._tally_part(plan, first, last, token)


def tallied(source: Source, plan: TallyPlan, executor: Executor | None, progress: bool) -> Tallied:
    """Make the trials of a plan, inside or as jobs of an executor, and return their results."""
    with progress_bar(plan.trials if progress else None) as looker:
        if executor is None:
            return source._tally(plan, looker)
        tally = Tally(plan)
        for part in _parts(source, plan, executor):
            tally.add(plan, part)
            if looker is not None:
                looker(tally.trials)
    return source._tally_finish(plan, tally)


def _parts(source: Source, plan: TallyPlan, executor: Executor) -> Iterator[bytes]:
    """Yield the parts of a run as they are completed: they may be added in any order."""
    size = min(max(plan.leaves // _JOBS, _FEWEST_LEAVES), _MOST_LEAVES)
    starts = iter(range(0, plan.leaves, size))
    token = _Token()
    from concurrent.futures import FIRST_COMPLETED, wait

    pending: set[Future[bytes]] = set()
    try:
        while True:
            while len(pending) < _WAITING and (first := next(starts, None)) is not None:
                last = min(first + size, plan.leaves)
                pending.add(executor.submit(_job, source, plan, first, last, token))
            if not pending:
                return
            # short waits, so that Ctrl-C is heard on every platform
            done, pending = wait(pending, timeout=0.1, return_when=FIRST_COMPLETED)
            for future in done:
                yield future.result()
    finally:
        token.cancelled = True
        for future in pending:
            future.cancel()


@contextmanager
def progress_bar(
    total: int | None, words: str = "Monte Carlo", unit: str = "trial"
) -> Iterator[Looker | None]:
    """Show a progress bar of so many trials (or rows, or sites), or nothing."""
    if total is None:
        yield None
        return
    from tqdm.auto import tqdm

    with tqdm(total=total, desc=words, unit=unit, unit_scale=True) as bar:

        def looker(done: int) -> None:
            bar.update(done - bar.n)

        yield looker


def keeps(keep: bool | None, executor: Executor | None) -> bool:
    """Return whether values are kept, which jobs of an executor do not do."""
    if keep and executor is not None:
        raise refuse(
            "keep: found True beside an executor; allowed: False, since jobs return tallies",
            code="conflict",
            field="keep",
            value=keep,
            allowed="False beside an executor",
        )
    return executor is None if keep is None else keep


class Evaluated(Source, Protocol):
    """A model of the core with its inputs."""

    def _kept_trials(self, trials: int, seed: int, looker: Looker | None) -> Trials: ...
    def _tally_plan(self, trials: int, seed: int) -> TallyPlan: ...


def kept_or_tallied(
    evaluated: Evaluated,
    trials: int,
    seed: int,
    keep: bool | None,
    executor: Executor | None,
    progress: bool,
) -> Trials | TalliedTrials:
    """Run Monte Carlo on the threads inside or as jobs of an executor."""
    trials, seed = whole("trials", trials), whole("seed", seed, 0)
    if keeps(keep, executor):
        with progress_bar(trials if progress else None) as looker:
            return evaluated._kept_trials(trials, seed, looker)
    plan = evaluated._tally_plan(trials, seed)
    return tallied(evaluated, plan, executor, progress).members()[0]
