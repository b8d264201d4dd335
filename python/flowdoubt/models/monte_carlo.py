"""Propagation of distributions: random trials, Sobol points, sensitivity indices."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Literal

from flowdoubt._core import (
    Input,
    InputSet,
    LowDiscrepancyRun,
    TalliedTrials,
)
from flowdoubt.edge.errors import whole
from flowdoubt.models.calls import (
    SINGLE,
    Blocks,
    Model,
    Source,
    derivatives_of,
)
from flowdoubt.models.jobs import keeps, progress_bar, tallied
from flowdoubt.models.results import AdaptiveTrials, JointTrials, TalliedJoint
from flowdoubt.models.trials import Sensitivity, Trials

if TYPE_CHECKING:
    from concurrent.futures import Executor

from flowdoubt.models.propagation import Correlations, set_of


def monte_carlo(
    model: Model,
    inputs: Mapping[str, Input] | InputSet,
    correlations: Correlations | None = None,
    *,
    trials: int = 1_000_000,
    seed: int = 1,
    unit: str | Mapping[str, str] = "",
    allowed_failures: float = 0.0,
    keep: bool | None = None,
    executor: Executor | None = None,
    progress: bool = False,
) -> Trials | JointTrials | TalliedTrials | TalliedJoint:
    """Propagate distributions through a model (JCGM 101:2008, clause 7).

    Correlated inputs that are not normal are joined by a Gaussian copula.

    Parameters
    ----------
    model
        A function of a dictionary of arrays of shape ``(n,)``, called block by block.
    inputs, correlations, unit
        As for `propagate`.
    trials, seed
        Number of trials and seed; the same seed gives the same draws, whatever the other inputs.
    allowed_failures
        The share of trials that may give no finite result.
    keep
        Whether all values are kept, up to 2e8 trials; the default is to do so without an executor.
        Otherwise trials are tallied and forgotten: memory does not grow with their number, and
        quantiles come with the bound of their error.
    executor
        An executor of `concurrent.futures`, such as a process pool or that of a Dask client, whose
        workers make the trials. The model must be such that it can be pickled for them. Results
        have the same bits as without.
    progress
        Show a progress bar; needs the package tqdm.

    Returns
    -------
    Trials, or JointTrials by name where the model returns a mapping or a tuple. Of tallies:
    TalliedTrials, TalliedJoint.

    Raises
    ------
    InputError
        What is no input; correlations beside a set of inputs, or of other names; a model that
        returns other shapes than its inputs have; values kept beside an executor.
    RangeError
        Trials, a seed, a share of failures or a correlation out of range.
    CorrelationError
        Correlations that no random variables can have.
    ModelError
        A model that raised an exception, which is the cause.
    TrialsError
        More trials without a finite result than are allowed.
    ModuleNotFoundError
        Without the package tqdm, where a progress bar is asked for.

    Examples
    --------
    >>> import flowdoubt as fd
    >>> m = fd.monte_carlo(lambda x: x["a"] * x["b"],
    ...                    {"a": fd.normal(10.0, 0.1), "b": fd.rectangular(1.9, 2.1)},
    ...                    trials=100_000, seed=1)
    >>> round(m.standard_uncertainty, 1)
    0.6
    """
    trials, seed = whole("trials", trials), whole("seed", seed, 0)
    core = set_of(inputs, correlations)
    blocks = Blocks(model, core)
    named = blocks.units(unit)
    if keeps(keep, executor):
        with progress_bar(trials if progress else None) as looker:
            joint = core._monte_carlo(blocks, named, trials, seed, allowed_failures, looker)
        return blocks.by_name(joint)
    plan = core._tally_plan(blocks, named, trials, seed, allowed_failures)
    all_outputs = tallied(Source(core, blocks, named), plan, executor, progress)
    members = dict(zip(blocks.outputs, all_outputs.members(), strict=True))
    return TalliedJoint(members, all_outputs) if blocks.several else members[SINGLE]


def adaptive_monte_carlo(
    model: Model,
    inputs: Mapping[str, Input] | InputSet,
    correlations: Correlations | None = None,
    *,
    digits: int = 2,
    coverage_probability: float = 0.95,
    kind: Literal["symmetric", "shortest"] = "symmetric",
    seed: int = 1,
    most_trials: int = 20_000_000,
    unit: str | Mapping[str, str] = "",
    allowed_failures: float = 0.0,
) -> AdaptiveTrials:
    """Add Monte Carlo trials until the results settle (JCGM 101:2008, 7.9; JCGM 102:2011, 7.8).

    Parameters
    ----------
    model, inputs, correlations, unit, allowed_failures
        As for `monte_carlo`.
    digits
        Number of significant digits of the standard uncertainty to settle, 1 to 4.
    coverage_probability, kind
        The coverage interval whose ends must settle too.
    seed, most_trials
        The seed, and the number of trials after which to stop.

    Returns
    -------
    AdaptiveTrials
        The trials, and whether they settled.

    Raises
    ------
    FlowdoubtError
        As for `monte_carlo`; another kind of interval.
    RangeError
        Digits, a coverage probability or a largest number of trials out of range.

    Examples
    --------
    >>> import flowdoubt as fd
    >>> run = fd.adaptive_monte_carlo(lambda x: x["a"], {"a": fd.normal(0.0, 1.0)}, digits=1)
    >>> run.settled
    True
    """
    core = set_of(inputs, correlations)
    blocks = Blocks(model, core)
    run = core._adaptive(
        blocks,
        blocks.units(unit),
        digits,
        coverage_probability,
        kind,
        seed,
        most_trials,
        allowed_failures,
    )
    return AdaptiveTrials(blocks.by_name(run.trials), run.settled, run.batches, run.in_words)


def low_discrepancy(
    model: Model,
    inputs: Mapping[str, Input] | InputSet,
    correlations: Correlations | None = None,
    *,
    points: int = 4096,
    replicates: int = 16,
    seed: int = 1,
    coverage_probability: float = 0.95,
    kind: Literal["symmetric", "shortest"] = "symmetric",
    antithetic: bool = False,
    derivatives: Literal["exact", "differences"] | None = "exact",
    unit: str | Mapping[str, str] = "",
    progress: bool = False,
) -> LowDiscrepancyRun:
    """Propagate distributions with scrambled Sobol points instead of random trials.

    An alternative to the trials of JCGM 101, not a replacement, for models that are smooth.

    Parameters
    ----------
    model, inputs, correlations, unit, progress
        As for `monte_carlo`.
    points
        Points of a replicate, a power of two from 16.
    replicates
        Independent replicates, 4 to 1000, whose scatter is the error of each figure.
    seed
        Same seed, same bits.
    coverage_probability, kind
        Of the coverage interval.
    antithetic
        Whether half of the points mirror the others: mean and standard uncertainty are then better
        known, the ends of the interval a little less.
    derivatives
        Where the sensitivity coefficients come from, as for `propagate`. The first-order part of a
        measurand is a control variate of mean and standard uncertainty. None does without.

    Returns
    -------
    LowDiscrepancyRun
        With the standard error of every figure, the measurands in the order of the model.

    Raises
    ------
    FlowdoubtError
        As for `monte_carlo`; as for `propagate` where there are derivatives; another kind of
        interval.
    RangeError
        Points that are no power of two from 16; replicates or a coverage probability out of range.
    ModuleNotFoundError
        Without the package tqdm, where a progress bar is asked for.

    Examples
    --------
    >>> import flowdoubt as fd
    >>> run = fd.low_discrepancy(lambda x: x["a"] * x["b"],
    ...                          {"a": fd.normal(10.0, 0.1), "b": fd.rectangular(1.9, 2.1)},
    ...                          points=64, replicates=4)
    >>> value, error = run.outputs[0]["standard_uncertainty"]
    >>> round(value, 3), error < 1e-4
    (0.611, True)
    """
    core = set_of(inputs, correlations)
    blocks = Blocks(model, core)
    gradients = None
    if derivatives is not None:
        *_, gradients = derivatives_of(model, core, derivatives)
    with progress_bar(points * replicates if progress else None) as looker:
        return core._low_discrepancy(
            blocks,
            blocks.units(unit),
            gradients,
            points,
            replicates,
            antithetic,
            seed,
            coverage_probability,
            kind,
            looker,
        )


def sobol_indices(
    model: Model,
    inputs: Mapping[str, Input] | InputSet,
    *,
    trials: int = 65_536,
    seed: int = 1,
    confidence: float = 0.95,
    unit: str | Mapping[str, str] = "",
) -> Sensitivity | dict[str, Sensitivity]:
    """Estimate first-order and total Sobol indices, with confidence intervals.

    The model is evaluated ``trials * (n + 2)`` times for ``n`` independent inputs.

    Parameters
    ----------
    model, inputs, unit
        As for `monte_carlo`.
    trials, seed
        Trials in each of the two samples, and the seed.
    confidence
        Confidence level of the intervals, which tell of the sampling only.

    Returns
    -------
    Sensitivity or dict of Sensitivity
        By the names of outputs where the model has several.

    Raises
    ------
    FlowdoubtError
        As for `monte_carlo`.
    InputError
        Inputs that are correlated.
    RangeError
        A confidence level that is not between 0 and 1; an output that is not finite or does not
        vary.

    Examples
    --------
    >>> import flowdoubt as fd
    >>> shares = fd.sobol_indices(lambda x: x["a"] + 2 * x["b"],
    ...                           {"a": fd.normal(0.0, 1.0), "b": fd.normal(0.0, 1.0)})
    >>> shares.to_pandas()["total"].round(1).to_dict()
    {'a': 0.2, 'b': 0.8}
    """
    core = set_of(inputs, None)
    blocks = Blocks(model, core)
    indices = core._sobol_indices(blocks, blocks.units(unit), trials, seed, confidence)
    return dict(zip(blocks.outputs, indices, strict=True)) if blocks.several else indices[0]
