"""One rule for units: a number stands beside its unit, in that unit, or its name ends in it.

Everything that a user can reach is made twice, for a site that shows m3/h and for the same site in
L/min, and walked: every number must say its unit or be of those that have none, and both must be
the same quantity.
"""

import json
import math
import re

import numpy as np
import pytest
from conftest import DEMO

import flowdoubt as fd

FLOW = {"m3/h": 1 / 3600, "L/min": 1e-3 / 60}
FACTORS = FLOW | {
    "m3/s": 1.0, "m3": 1.0, "L": 1e-3, "m/s": 1.0, "mm/s": 1e-3, "m": 1.0, "mm": 1e-3, "m2": 1.0,
    "s": 1.0, "us": 1e-6, "ns": 1e-9, "K": 1.0, "k": 1.0, "degC": 1.0, "deg": 1.0, "rad": 1.0,
    "kg/m3": 1.0, "m2/s": 1.0, "mm2/s": 1e-6, "s/m": 1.0, "1/m": 1.0, "per m": 1.0, "bar": 1e5,
    "Pa": 1.0, "1": 1.0, "%": 1e-2, "": 1.0, "per m3/s": 1.0, "per m3/h": 3600.0, "per L/min": 6e4,
    "D": 1.0, "Hz": 1.0, "1/K": 1.0, "ppm/K": 1e-6,
}  # fmt: skip
SUFFIXES = {
    unit.replace("/", "_").replace(" ", "_"): unit for unit in FACTORS if unit not in ("", "1", "%")
}
SUFFIXES["seconds"] = "s"
SUFFIXES = dict(sorted(SUFFIXES.items(), key=lambda item: -len(item[0])))

# Ratios, counts, probabilities, degrees of freedom, scores, seeds, places: they have no unit.
WITHOUT = re.compile(
    r"^(relative_.*|share.*|.*_dof|dof|.*probability.*|coverage_factor|.*factor|.*factor_.*|.*_ratio|"
    r"reynolds_number|.*_reynolds_number.*|relative_roughness|readings|.*_readings|trials|seed|digits|"
    r"batches|batch_trials|points|replicates|point|run|runs|placements|traverses|chi_squared?|p_value|"
    r".*p_value|standardised|standard_uncertainties|coefficient|correlation|error_correlation|e_n|zeta|"
    r"error|error_.*|intercept.*|acceptance_.*|permissible_.*|.*risk|.*_fraction|cost|effort|skewness|"
    r"kurtosis|failed|counts|row|rows|.*_row|availability|repeatability|reproducibility|"
    r"expanded_uncertainty_needed|meter_factor.*|lines|conforming_share|count|used|twice|skipped|"
    r"between|input_correlations|components|format|version|flow_unit_factor|low_flow|planes|number|"
    r"points_.*|rank_by_.*)$"
)  # fmt: skip
# What the rounding of the number shown decides, so that it is another quantity in another unit.
BY_ROUNDING = re.compile(r"tolerance|validat")
# In the square of the unit beside.
SQUARES = re.compile(r"^(variance|terms|covariance|period_covariance)$")

# methods that are asked for what they return, with these arguments
ASKED = {
    "columns": [()], "components": [()], "expanded": [(0.95,)], "interval": [(0.95,)],
    "result": [()], "value": [()], "values": [()], "terms": [()], "periods": [()], "rows": [()],
    "to_dict": [()], "quantile": [(0.3,)], "interval_error": [()], "histogram": [(3,)],
    "input_correlations": [()], "programmed_check": [()], "point_budget": [(0,)],
    "run_budget": [(0,)], "reference_steps": [(0,)], "budget": [(0,)],
}  # fmt: skip
# arrays of the physics, of which the docstrings say that they are SI
PHYSICS = {"path_layout", "core_site", "core"}


class Leaf:
    def __init__(self, value, unit, squared):
        self.value, self.unit, self.squared = np.asarray(value, dtype=float), unit, squared

    @property
    def si(self):
        # of a sensitivity: the unit of the result over that of the input
        over, _, under = self.unit.partition(")/(")
        factor = FACTORS[over.strip("()")] / FACTORS[under.strip("()")]
        return self.value * factor * (factor if self.squared else 1)


def unit_in(name):
    for suffix, unit in SUFFIXES.items():
        if name.endswith(f"_{suffix}") or name == suffix:
            return unit
    return None


def is_numbers(value):
    if isinstance(value, bool | str | bytes) or value is None:
        return False
    if isinstance(value, int | float | np.number):
        return True
    if isinstance(value, np.ndarray):
        return value.dtype.kind in "fiu"
    if isinstance(value, list | tuple) and value:
        return all(v is None or is_numbers(v) for v in value) and any(v is not None for v in value)
    return False


def parts(owner):
    """Yield the names and values of what an object or a mapping has."""
    if isinstance(owner, dict):
        yield from owner.items()
        return
    for name in dir(owner):
        if name.startswith("_") or name in PHYSICS:
            continue
        value = getattr(owner, name)
        if not callable(value):
            yield name, value
        elif name in ASKED:
            for arguments in ASKED[name]:
                try:
                    yield name, value(*arguments)
                except TypeError:
                    yield name, value()
        if name in ("to_json",):
            yield name, json.loads(value())


def unit_beside(owner, name):
    """The unit that stands beside a number, by the rule of the documentation."""

    def get(key):
        return owner.get(key) if isinstance(owner, dict) else getattr(owner, key, None)

    if name in ("flow", "mean_flow"):
        return get("flow_unit")
    if isinstance(get("unit"), dict):
        return get("unit")["si_symbol"]
    if isinstance(owner, dict) and name == "value" and "name" in owner:
        # a step of the way to a flow: its name ends in its unit where it has one
        return unit_in(owner["name"]) or ""
    if isinstance(owner, dict) and "uncertainty_before" in owner:
        return ""  # an input of a record by its name, in its SI unit, as the schema has it
    if get("units"):
        return get("units")[0]
    if name in ("filled_volume", "period_covariance"):
        return get("volume_unit")
    return get(f"{name}_unit") or get("unit")


def walk(owner, path="", inherited=None):
    for name, value in parts(owner):
        here = f"{path}.{name}"
        if name == "histogram":
            name, value = "edges", value[0]
        if path.endswith("unit"):
            continue  # a unit itself, with its factor to SI
        if isinstance(value, dict):
            # by names of components or inputs, whatever these are called
            by_name = bool(WITHOUT.match(name)) or any(isinstance(key, tuple) for key in value)
            if by_name and is_numbers(list(value.values())):
                yield from leaf(owner, here, name, list(value.values()))
            else:
                # {"flow_m3_s": {"value": ...}}: what is inside is in the unit of the key
                group = unit_of_group(here, name)
                yield from walk(value, here, inherited if group is None else group)
        elif is_numbers(value):
            yield from leaf(owner, here, name, value, inherited)
        elif isinstance(value, list | tuple):
            for i, one in enumerate(value):
                if isinstance(one, dict) or type(one).__module__.startswith("flowdoubt"):
                    yield from walk(one, f"{here}[{i}]", inherited)
        elif type(value).__module__.startswith("flowdoubt"):
            yield from walk(value, here)


# Groups of which the schema says the unit: records keep the keys that they have.
GROUPS = {"checks.sound_speed": "m/s", "conformity": "", "repeatability": "", "reproducibility": "",
          "global_risks": "", "validation": "m3/s"}  # fmt: skip
# The line of error against flow in JSON and records, as the schema has it.
LINE = {
    "slope": "per m3/s",
    "slope_uncertainty": "per m3/s",
    "covariance": "per m3/s",
    "range": "m3/s",
}


def unit_of_group(path, name):
    found = [unit for group, unit in GROUPS.items() if path.endswith(f".{group}")]
    own = unit_in(name)
    return found[0] if found else own if own or not WITHOUT.match(name) else ""


def leaf(owner, path, name, value, inherited=None):
    if path.endswith(f"line.{name}") and name in LINE:
        yield path, Leaf(value, LINE[name], False)
        return
    if isinstance(value, list | tuple):
        value = [[math.nan if v is None else v for v in row] if isinstance(row, list | tuple)
                 else math.nan if row is None else row for row in value]  # fmt: skip
    unit = unit_in(name)
    if unit is None and WITHOUT.match(name):
        yield path, Leaf(value, "", False)
        return
    if unit is None:
        unit = unit_beside(owner, name)
    if unit is None:
        unit = inherited
    if unit is None:
        yield path, None
        return
    if isinstance(unit, list | np.ndarray):
        for i, (one, own) in enumerate(zip(value, unit, strict=True)):
            yield f"{path}[{i}]", Leaf(one, own, False)
        return
    yield path, Leaf(value, unit, bool(SQUARES.match(name)))


def renamed(path):
    return path.replace("L_min", "m3_h").replace("_L.", "_m3.").removesuffix("_L") + (
        "_m3" if path.endswith("_L") else ""
    )


@pytest.fixture(scope="module")
def both(demo_text):
    """Everything that the demonstration can be made to give, in both units of flow."""
    return [everything(demo_text, unit) for unit in FLOW]


def everything(text, unit):
    text = re.sub(r'flow_unit = "[^"]*"\n', "", text)
    site = fd.Site.from_toml(text.replace("[site]\n", f'[site]\nflow_unit = "{unit}"\n'))
    evaluation = site.evaluate(DEMO / "readings.csv")
    trials = evaluation.monte_carlo(20_000)
    plan = site.plan(["200 m3/h", "1000 m3/h"], "8 degC", traverses=[1, 2], target="1.6 %")
    result = site.verify(DEMO / "verification.toml")
    series = site.evaluate_series(DEMO / "readings.csv", period="day", reverse="separate")
    commissioning = site.commissioning(temperature="8 degC", flow="600 m3/h")
    return {
        "Evaluation": evaluation,
        "Evaluation.to_json": json.loads(evaluation.to_json(trials)),
        "Trials": trials,
        "TalliedTrials": evaluation.monte_carlo(20_000, keep=False),
        "Validation": evaluation.validate(trials),
        "SoundSpeedCheck": evaluation.sound_speed_check(),
        "ZeroCheck": evaluation.zero_check({"time_difference_ns": [0.1, 0.4, -0.2, 0.3]}),
        "Reconciliation": evaluation.reconciled(),
        "SecondOrder": evaluation.second_order(),
        "AdaptiveRun": evaluation.adaptive_monte_carlo(digits=1, most_trials=20_000),
        "LowDiscrepancyRun": evaluation.low_discrepancy(256, 4),
        "Target": evaluation.target("1.6 %"),
        "Plan": plan,
        "PlanComparison": plan.comparison,
        "Plan.to_json": json.loads(plan.to_json()),
        "Series": series,
        "MarkOut": site.mark_out(temperature="8 degC"),
        "Commissioning": commissioning,
        "Commissioned": site.commissioned(
            commissioning.form().replace('wall = ""', 'wall = "8.8 mm"')
        ),
        "VerificationResult": result,
        "VerificationResult.to_json": json.loads(result.to_json()),
        "VerificationTrials": result.monte_carlo(10_000),
        "Record": evaluation.record(trials).to_dict()["content"]["evaluation"]["results"],
        "Record of a verification": result.record().to_dict()["content"]["verification"]["results"],
    }


CLASSES = [
    "Evaluation", "Evaluation.to_json", "Trials", "TalliedTrials", "Validation", "SoundSpeedCheck",
    "ZeroCheck", "Reconciliation", "SecondOrder", "AdaptiveRun", "LowDiscrepancyRun", "Target",
    "Plan", "PlanComparison", "Plan.to_json", "Series", "MarkOut", "Commissioning", "Commissioned",
    "VerificationResult", "VerificationResult.to_json",
    "VerificationTrials", "Record", "Record of a verification",
]  # fmt: skip


@pytest.mark.parametrize("name", CLASSES)
def test_every_number_has_its_unit(both, name):
    first, second = ({renamed(path): own for path, own in walk(all_of[name])} for all_of in both)
    lacking = sorted({re.sub(r"\[\d+\]", "[]", path) for path, own in first.items() if own is None})
    assert not lacking, "numbers whose unit is nowhere: " + ", ".join(lacking)
    assert first.keys() == second.keys()
    for path, own in first.items():
        if BY_ROUNDING.search(path):
            continue
        np.testing.assert_allclose(own.si, second[path].si, rtol=1e-9, atol=1e-12, err_msg=path)


def test_the_walk_finds_numbers(both):
    assert {name: len(list(walk(own))) for name, own in both[0].items()}["Evaluation"] > 100
