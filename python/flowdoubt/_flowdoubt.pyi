"""The extension module: conversion of arguments and results, and nothing else."""

import os
from collections.abc import Callable, Mapping
from concurrent.futures import Executor
from typing import Any, Final, Literal, final, overload

import numpy as np
import pandas as pd
import polars as pl
from numpy.typing import ArrayLike, NDArray

from flowdoubt._core_conformity import (
    GlobalRisks,
    ItemsAndMeasurement,
    Permissible,
    SpecificRisks,
)
from flowdoubt._core_installation import (
    cross_flow_half_width,
    disturbed_velocity,
    installation,
    path_error,
    recommended_orientation,
    straight_run_caution,
    straight_runs,
)
from flowdoubt._core_mark_out import MarkOut, inch_fraction, mark_out
from flowdoubt._core_plan import Plan, Target, plan_site, target_of
from flowdoubt._core_record import Record, Reproduction, Worksheet, write_whole
from flowdoubt._core_series import (
    SeriesCore,
    evaluate_series,
    evaluate_site_files,
    evaluate_site_texts,
    read_site_files,
    readings_beside,
    sites_in_folder,
)
from flowdoubt._core_site import (
    InterchangedZero,
    Reconciliation,
    SoundSpeedCheck,
    StressTest,
    ZeroCheck,
    glycol_freezing_temperature,
    liquid_property,
    liquid_uncertainty,
    material,
    material_names,
    pipe_dimensions,
    pipe_schedules,
    pipe_sizes,
    pressure_strain,
    wall_grid,
)
from flowdoubt._core_statistics import (
    Autocorrelated,
    OneWay,
    OutlierTest,
    Pooled,
    RandomEffects,
    StraightLine,
    TypeA,
    WeightedMean,
)
from flowdoubt._core_tally import Tallied, TalliedTrials, Tally, TallyPlan
from flowdoubt._core_verification import (
    Verification,
    VerificationResult,
    VerificationTrials,
    air_density,
    buoyancy_factor,
    diverter_error,
    scores,
    verify,
)

_Vector = NDArray[np.float64]
# of the number of trials done
_Looker = Callable[[int], None] | None
_Path = str | os.PathLike[str]
# profile law, kappa, n, friction law
_Laws = tuple[str, float | None, float | None, str]

__all__ = [
    "CAUTIONS",
    "FITTINGS",
    "TRANSITION_REYNOLDS",
    "VERIFICATION_CAUTIONS",
    "AdaptiveRun",
    "Autocorrelated",
    "Budget",
    "CorrelationError",
    "EllipsoidalRegion",
    "Evaluation",
    "Expanded",
    "FlowdoubtError",
    "GlobalRisks",
    "Input",
    "InputError",
    "InputSet",
    "InterchangedZero",
    "ItemsAndMeasurement",
    "JointResult",
    "JointTrials",
    "LowDiscrepancyRun",
    "MarkOut",
    "ModelError",
    "OneWay",
    "OutlierTest",
    "Permissible",
    "Plan",
    "Pooled",
    "RandomEffects",
    "RangeError",
    "Reconciliation",
    "Record",
    "RecordError",
    "RectangularRegion",
    "Reproduction",
    "SecondOrder",
    "Sensitivity",
    "SeriesCore",
    "Site",
    "SoundSpeedCheck",
    "SpecificRisks",
    "StraightLine",
    "StressTest",
    "Tallied",
    "TalliedTrials",
    "Tally",
    "TallyPlan",
    "Target",
    "Trials",
    "TrialsError",
    "TypeA",
    "UnitError",
    "Validation",
    "Verification",
    "VerificationResult",
    "VerificationTrials",
    "WeightedMean",
    "Worksheet",
    "ZeroCheck",
    "__version__",
    "acceptance_limit",
    "air_density",
    "autocorrelation",
    "buoyancy_factor",
    "chord_factor",
    "correction_factor",
    "cross_flow_half_width",
    "disturbed_velocity",
    "diverter_error",
    "evaluate_series",
    "evaluate_site_files",
    "evaluate_site_texts",
    "friction_factor",
    "friction_law_names",
    "friction_uncertainty",
    "glycol_freezing_temperature",
    "grubbs_critical_value",
    "inch_fraction",
    "installation",
    "intermittency",
    "law_uncertainty",
    "liquid_property",
    "liquid_uncertainty",
    "logarithmic_constants",
    "mark_out",
    "material",
    "material_names",
    "path_error",
    "path_factor",
    "pipe_dimensions",
    "pipe_schedules",
    "pipe_sizes",
    "plan_site",
    "pressure_strain",
    "profile_law_names",
    "read_site_files",
    "readings_beside",
    "recommended_orientation",
    "rounded",
    "rounded_pair",
    "saturation_pressure",
    "scores",
    "shown",
    "sites_in_folder",
    "straight_run_caution",
    "straight_runs",
    "target_of",
    "trace_path",
    "variance_inflation",
    "velocity_shape",
    "verify",
    "wall_grid",
    "water_property",
    "write_whole",
]

__version__: str
CAUTIONS: str
FITTINGS: list[str]
TRANSITION_REYNOLDS: float
VERIFICATION_CAUTIONS: str

class FlowdoubtError(ValueError):
    code: str
    field: str | None
    value: str | None
    allowed: str | None
    file: str | None
    line: int | None

class InputError(FlowdoubtError): ...
class UnitError(FlowdoubtError): ...
class ModelError(FlowdoubtError): ...
class RangeError(FlowdoubtError): ...
class CorrelationError(FlowdoubtError): ...
class RecordError(FlowdoubtError): ...
class TrialsError(FlowdoubtError): ...

def water_property(name: str, temperature: _Vector, pressure: _Vector) -> _Vector: ...
def saturation_pressure(temperature: _Vector) -> _Vector: ...
def rounded(value: float, digits: int = 2) -> str: ...
def shown(text: str) -> str: ...
def rounded_pair(estimate: float, uncertainty: float) -> tuple[str, str]: ...
def friction_factor(reynolds: _Vector, relative_roughness: _Vector, law: str) -> _Vector: ...
def correction_factor(reynolds: _Vector, relative_roughness: _Vector, laws: _Laws) -> _Vector: ...
def law_uncertainty(reynolds: _Vector, relative_roughness: _Vector, laws: _Laws) -> _Vector: ...
def friction_uncertainty(reynolds: _Vector, relative_roughness: _Vector) -> _Vector: ...
def path_factor(columns: list[_Vector], laws: _Laws) -> _Vector: ...
def chord_factor(columns: list[_Vector], laws: _Laws) -> _Vector: ...
def velocity_shape(columns: list[_Vector], laws: _Laws) -> _Vector: ...
def intermittency(reynolds: _Vector, transition_reynolds: _Vector) -> _Vector: ...
def friction_law_names() -> list[str]: ...
def profile_law_names() -> list[tuple[str, str]]: ...
def logarithmic_constants() -> list[tuple[str, float, float, str]]: ...
def trace_path(
    pipe: list[_Vector],
    aim: list[_Vector],
    layers: list[list[_Vector]],
    couplant: bool,
    traverses: int,
) -> list[_Vector]: ...
def autocorrelation(readings: _Vector, lags: int) -> _Vector: ...
def variance_inflation(count: int, autocorrelation: _Vector) -> float: ...
def grubbs_critical_value(count: int, significance: float) -> float: ...
def acceptance_limit(
    tolerance_limit: float,
    side: str,
    rule: str,
    standard_uncertainty: float,
    relative: bool,
    dof: float,
    probability: float,
) -> float: ...

@final
class Site:
    STARTER: Final[str]
    @staticmethod
    def starter_for(basis: str = "timed", liquid: str = "water") -> str: ...
    @staticmethod
    def load(path: _Path) -> Site: ...
    @staticmethod
    def from_toml(text: str, file: _Path = ...) -> Site: ...
    def zero_from_interchange(
        self, before: object, interchanged: object, after: object
    ) -> InterchangedZero: ...
    @property
    def name(self) -> str: ...
    @property
    def note(self) -> str: ...
    @property
    def coverage_probability(self) -> float: ...
    @property
    def text(self) -> str: ...
    def calibrated_by(self, found: VerificationResult) -> Site: ...
    @property
    def choices(self) -> list[tuple[str, str]]: ...
    @property
    def stated(self) -> list[dict[str, str]]: ...
    @property
    def path_layout(self) -> dict[str, Any] | None: ...
    def evaluate(self, readings: object) -> Evaluation: ...

@final
class Evaluation:
    @property
    def site(self) -> str: ...
    @property
    def unit(self) -> str: ...
    @property
    def estimate(self) -> float: ...
    @property
    def standard_uncertainty(self) -> float: ...
    @property
    def relative_standard_uncertainty(self) -> float: ...
    @property
    def effective_dof(self) -> float: ...
    @property
    def coverage_probability(self) -> float: ...
    @property
    def readings(self) -> int: ...
    @property
    def regime(self) -> str: ...
    @property
    def headline(self) -> str: ...
    def headline_with(self, trials: Trials | TalliedTrials, digits: int = 2) -> str: ...
    @property
    def warnings(self) -> list[tuple[str, str]]: ...
    @property
    def mounting_advice(self) -> list[str]: ...
    @property
    def placement(self) -> dict[str, float | None] | None: ...
    @property
    def core_site(self) -> Site: ...
    @property
    def path_layout(self) -> dict[str, Any] | None: ...
    def profile_factor_at(self, reynolds: _Vector) -> tuple[_Vector, _Vector]: ...
    def velocity_at(self, radius: _Vector) -> _Vector: ...
    def stress_test(
        self, wrong: Mapping[str, str] | None = None, *, trials: int = 100_000, seed: int = 1
    ) -> StressTest: ...
    def sound_speed_check(self) -> SoundSpeedCheck: ...
    def zero_check(self, readings: object) -> ZeroCheck: ...
    def programmed_check(self) -> list[dict[str, str | float]]: ...
    def reconciled(self) -> Reconciliation: ...
    def target(
        self,
        target: str | float,
        *,
        costs: Mapping[str, float] | None = None,
        lowest: Mapping[str, str] | None = None,
    ) -> Target: ...
    @property
    def budget(self) -> Budget: ...
    @property
    def steps(self) -> dict[str, float]: ...
    def value(self, unit: str | None = None) -> float: ...
    def result(self, unit: str | None = None) -> tuple[float, float]: ...
    def to_pint(self, registry: Any = None) -> tuple[Any, Any]: ...
    def expanded(self, coverage_probability: float | None = None) -> Expanded: ...
    def interval(
        self, coverage_probability: float | None = None, unit: str | None = None
    ) -> tuple[float, float]: ...
    @staticmethod
    def from_text(text: str) -> Evaluation: ...
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
    def kept_trials(self, trials: int, seed: int, looker: _Looker) -> Trials: ...
    def tally_plan(self, trials: int, seed: int) -> TallyPlan: ...
    def tally(self, plan: TallyPlan, looker: _Looker) -> Tallied: ...
    def tally_part(self, plan: TallyPlan, first: int, last: int, looker: _Looker) -> bytes: ...
    def tally_finish(self, plan: TallyPlan, tally: Tally) -> Tallied: ...
    def adaptive_monte_carlo(
        self, digits: int = 2, seed: int = 1, most_trials: int = 20_000_000
    ) -> AdaptiveRun: ...
    def low_discrepancy(
        self,
        points: int = 4096,
        replicates: int = 16,
        seed: int = 1,
        kind: Literal["symmetric", "shortest"] = "symmetric",
        antithetic: bool = False,
    ) -> LowDiscrepancyRun: ...
    def second_order(self) -> SecondOrder: ...
    def validate(
        self,
        trials: Trials | TalliedTrials,
        digits: int = 2,
        coverage_probability: float | None = None,
    ) -> Validation: ...
    def to_json(self, trials: Trials | TalliedTrials | None = None, digits: int = 2) -> str: ...
    @property
    def worksheet(self) -> Worksheet: ...
    def record(
        self, trials: Trials | None = None, digits: int = 2, at_no_flow: object = None
    ) -> Record: ...
    def in_words(self, trials: Trials | TalliedTrials | None = None, digits: int = 2) -> str: ...
    def _repr_html_(self) -> str: ...

@final
class Budget:
    @property
    def output(self) -> str: ...
    @property
    def unit(self) -> str: ...
    @property
    def estimate(self) -> float: ...
    @property
    def standard_uncertainty(self) -> float: ...
    @property
    def effective_dof(self) -> float: ...
    @property
    def result_in_words(self) -> str: ...
    def expanded(self, coverage_probability: float) -> Expanded: ...
    def value(self, unit: str | None = None) -> float: ...
    def result(self, unit: str | None = None) -> tuple[float, float]: ...
    def to_pint(self, registry: Any = None) -> tuple[Any, Any]: ...
    def components(self) -> dict[str, float]: ...
    def columns(self, si: bool = False) -> dict[str, list[str] | _Vector]: ...
    def rounded_lines(self) -> list[list[str]]: ...
    def to_pandas(self) -> pd.DataFrame: ...
    def to_polars(self) -> pl.DataFrame: ...
    def _repr_latex_(self) -> str: ...
    def _repr_html_(self) -> str: ...

@final
class Expanded:
    @property
    def coverage_probability(self) -> float: ...
    @property
    def dof(self) -> float: ...
    @property
    def coverage_factor(self) -> float: ...
    @property
    def unit(self) -> str: ...
    @property
    def expanded_uncertainty(self) -> float: ...
    def value(self, unit: str | None = None) -> float: ...

@final
class Trials:
    @property
    def trials(self) -> int: ...
    @property
    def seed(self) -> int: ...
    @property
    def unit(self) -> str: ...
    @property
    def output(self) -> str: ...
    def result(self, unit: str | None = None) -> tuple[float, float]: ...
    @property
    def mean(self) -> float: ...
    @property
    def standard_uncertainty(self) -> float: ...
    def interval(
        self,
        coverage_probability: float = 0.95,
        kind: Literal["symmetric", "shortest"] = "symmetric",
        unit: str | None = None,
    ) -> tuple[float, float]: ...
    def values(self, unit: str | None = None) -> _Vector: ...
    def _repr_html_(self) -> str: ...

@final
class Validation:
    @property
    def unit(self) -> str: ...
    @property
    def coverage_probability(self) -> float: ...
    @property
    def digits(self) -> int: ...
    @property
    def tolerance(self) -> float: ...
    @property
    def first_order(self) -> tuple[float, float]: ...
    @property
    def monte_carlo(self) -> tuple[float, float]: ...
    @property
    def low_difference(self) -> float: ...
    @property
    def high_difference(self) -> float: ...
    @property
    def validated(self) -> bool: ...
    @property
    def verdict(self) -> Literal["validated", "not validated", "undecided"]: ...
    @property
    def more_trials(self) -> int | None: ...
    @property
    def standard_errors(self) -> tuple[float, float]: ...
    @property
    def trials(self) -> int: ...
    @property
    def by_points(self) -> bool: ...
    @property
    def verdict_in_words(self) -> str: ...
    @property
    def in_words(self) -> str: ...
    def __bool__(self) -> bool: ...

@final
class Input:
    @staticmethod
    def from_text(text: str) -> Input: ...
    @staticmethod
    def of_standard_uncertainty(
        estimate: float, u: float, dof: float, unit: str, evidence: str
    ) -> Input: ...
    @staticmethod
    def of_expanded_uncertainty(
        estimate: float,
        expanded: float,
        coverage_factor: float,
        dof: float,
        unit: str,
        evidence: str,
    ) -> Input: ...
    @staticmethod
    def of_half_width(
        estimate: float, half_width: float, shape: str, dof: float, unit: str, evidence: str
    ) -> Input: ...
    @staticmethod
    def of_readings(readings: _Vector, unit: str, evidence: str) -> Input: ...
    @staticmethod
    def of_distribution(json: str, unit: str, evidence: str) -> Input: ...
    @property
    def estimate(self) -> float: ...
    @property
    def standard_uncertainty(self) -> float: ...
    @property
    def dof(self) -> float: ...
    @property
    def distribution(self) -> str: ...
    @property
    def unit(self) -> str: ...
    @property
    def evidence(self) -> str: ...
    @property
    def variance(self) -> float: ...
    @overload
    def quantile(self, p: float) -> float: ...
    @overload
    def quantile(self, p: ArrayLike) -> _Vector: ...
    @overload
    def cdf(self, x: float) -> float: ...
    @overload
    def cdf(self, x: ArrayLike) -> _Vector: ...
    @overload
    def density(self, x: float) -> float: ...
    @overload
    def density(self, x: ArrayLike) -> _Vector: ...

@final
class InputSet:
    @staticmethod
    def from_text(text: str) -> InputSet: ...
    def __new__(
        cls, inputs: list[tuple[str, Input]], correlations: list[tuple[str, str, float]]
    ) -> InputSet: ...
    @staticmethod
    def nearest(
        inputs: list[tuple[str, Input]], correlations: list[tuple[str, str, float]]
    ) -> InputSet: ...
    @staticmethod
    def multivariate_normal(
        names: list[str], estimates: _Vector, covariance: _Vector
    ) -> InputSet: ...
    @staticmethod
    def joint_readings(names: list[str], readings: _Vector) -> InputSet: ...
    def joined_with(self, other: InputSet) -> InputSet: ...
    def correlation(self) -> _Vector: ...
    @property
    def names(self) -> list[str]: ...
    def estimates(self) -> _Vector: ...
    def standard_uncertainties(self) -> _Vector: ...
    def budgets(
        self, named: list[tuple[str, str]], estimates: _Vector, gradients: _Vector
    ) -> list[Budget]: ...
    def joint_result(self, budgets: list[Budget]) -> JointResult: ...
    def second_order(
        self,
        budgets: list[Budget],
        derivatives: Callable[[_Vector], list[tuple[float, _Vector, _Vector]]],
    ) -> list[SecondOrder]: ...
    def monte_carlo(
        self,
        function: Callable[[list[_Vector]], list[_Vector]],
        named: list[tuple[str, str]],
        trials: int,
        seed: int,
        allowed_failures: float,
        looker: _Looker,
    ) -> JointTrials: ...
    def low_discrepancy(
        self,
        function: Callable[[list[_Vector]], list[_Vector]],
        named: list[tuple[str, str]],
        sensitivities: _Vector | None,
        points: int,
        replicates: int,
        antithetic: bool,
        seed: int,
        coverage_probability: float,
        kind: str,
        looker: _Looker,
    ) -> LowDiscrepancyRun: ...
    def tally_plan(
        self,
        function: Callable[[list[_Vector]], list[_Vector]],
        named: list[tuple[str, str]],
        trials: int,
        seed: int,
        allowed_failures: float,
    ) -> TallyPlan: ...
    def tally(
        self,
        function: Callable[[list[_Vector]], list[_Vector]],
        named: list[tuple[str, str]],
        plan: TallyPlan,
        looker: _Looker,
    ) -> Tallied: ...
    def tally_part(
        self,
        function: Callable[[list[_Vector]], list[_Vector]],
        named: list[tuple[str, str]],
        plan: TallyPlan,
        first: int,
        last: int,
        looker: _Looker,
    ) -> bytes: ...
    def tally_finish(
        self,
        function: Callable[[list[_Vector]], list[_Vector]],
        named: list[tuple[str, str]],
        plan: TallyPlan,
        tally: Tally,
    ) -> Tallied: ...
    def adaptive(
        self,
        function: Callable[[list[_Vector]], list[_Vector]],
        named: list[tuple[str, str]],
        digits: int,
        coverage_probability: float,
        kind: str,
        seed: int,
        most_trials: int,
        allowed_failures: float,
    ) -> AdaptiveRun: ...
    def sobol_indices(
        self,
        function: Callable[[list[_Vector]], list[_Vector]],
        named: list[tuple[str, str]],
        trials: int,
        seed: int,
        confidence: float,
    ) -> list[Sensitivity]: ...

@final
class JointResult:
    @property
    def covariance(self) -> _Vector: ...
    @property
    def correlation(self) -> _Vector: ...
    def ellipsoidal_region(self, coverage_probability: float) -> EllipsoidalRegion: ...
    def rectangular_region(self, coverage_probability: float) -> RectangularRegion: ...

@final
class JointTrials:
    def members(self) -> list[Trials]: ...
    @property
    def units(self) -> list[str]: ...
    def values(self) -> list[_Vector]: ...
    @property
    def covariance(self) -> _Vector: ...
    @property
    def correlation(self) -> _Vector: ...
    def ellipsoidal_region(self, coverage_probability: float) -> EllipsoidalRegion: ...
    def rectangular_region(self, coverage_probability: float) -> RectangularRegion: ...

@final
class EllipsoidalRegion:
    @property
    def centre(self) -> _Vector: ...
    @property
    def coverage_probability(self) -> float: ...
    @property
    def coverage_factor(self) -> float: ...
    def contains(self, y: _Vector) -> bool: ...

@final
class RectangularRegion:
    @property
    def centre(self) -> _Vector: ...
    @property
    def half_widths(self) -> _Vector: ...
    @property
    def coverage_probability(self) -> float: ...
    @property
    def coverage_factor(self) -> float: ...
    def contains(self, y: _Vector) -> bool: ...

@final
class SecondOrder:
    @property
    def budget(self) -> Budget: ...
    @property
    def unit(self) -> str: ...
    @property
    def standard_uncertainty(self) -> float: ...
    @property
    def variance(self) -> float: ...
    @property
    def bias(self) -> float: ...
    @property
    def tolerance(self) -> float: ...
    @property
    def matters(self) -> bool: ...
    def expanded(self, coverage_probability: float) -> Expanded: ...
    def terms(self) -> dict[tuple[str, str], float]: ...

@final
class AdaptiveRun:
    @property
    def trials(self) -> JointTrials: ...
    @property
    def settled(self) -> bool: ...
    @property
    def batches(self) -> int: ...
    @property
    def batch_trials(self) -> int: ...
    @property
    def in_words(self) -> str: ...

@final
class LowDiscrepancyRun:
    @property
    def trials(self) -> JointTrials: ...
    @property
    def points(self) -> int: ...
    @property
    def replicates(self) -> int: ...
    @property
    def antithetic(self) -> bool: ...
    @property
    def seed(self) -> int: ...
    @property
    def outputs(self) -> list[dict[str, Any]]: ...
    @property
    def in_words(self) -> str: ...

@final
class Sensitivity:
    @property
    def unit(self) -> str: ...
    @property
    def variance(self) -> float: ...
    def columns(self) -> dict[str, list[str] | _Vector]: ...
    def to_pandas(self) -> pd.DataFrame: ...
