"""A record of the demonstration site recomputed in plain Python: standard library and numpy.

``python tests/python/plain_recomputation.py run.json`` reads the record, checks its digest and
computes every figure of first order anew from the site file and the readings in it, without the
package and with equations written down a second time; those of bends and of the uncertainty of
profiles it shares with the virtual laboratory. Only the tables of coefficients of the fitted series
are read from the source of the package; that they are right, other tests tell.

It knows what the demonstration site needs: water, a pipe of one wall measured by its circumference,
the timed basis with the angle from the wedge, the fitted profile, Colebrook's friction,
turbulent flow.
"""

import csv
import hashlib
import io
import json
import re
import sys
import tomllib
from math import floor, inf, isfinite, log2
from pathlib import Path

import numpy as np
from laboratory.profile import bend_factor, bend_half_width, standard_uncertainties

SOURCE = Path(__file__).parents[2] / "src"

# --- the digest: RFC 8785 and FIPS 180-4 ---


def number_as_ecmascript(number):
    """The shortest decimal that is read back as the same number, laid out as RFC 8785 has it."""
    number = float(number)
    if not isfinite(number):
        raise ValueError(f"{number} has no form in JSON")
    if number == 0:
        return "0"
    sign = "-" if number < 0 else ""
    mantissa, exponent = f"{abs(number)!r}e0".split("e")[:2]
    whole, _, part = mantissa.partition(".")
    point = len(whole) + int(exponent)
    digits = (whole + part).lstrip("0")
    point -= len(whole + part) - len(digits)
    digits = digits.rstrip("0")
    if len(digits) <= point <= 21:
        return sign + digits.ljust(point, "0")
    if 0 < point <= 21:
        return sign + digits[:point] + "." + digits[point:]
    if -6 < point <= 0:
        return sign + "0." + "0" * -point + digits
    rest = "." + digits[1:] if digits[1:] else ""
    return f"{sign}{digits[0]}{rest}e{'+' if point > 0 else '-'}{abs(point - 1)}"


def canonical(value):
    """The canonical form of RFC 8785."""
    if isinstance(value, dict):
        keys = sorted(value, key=lambda key: key.encode("utf-16-be"))
        members = (f"{canonical(key)}:{canonical(value[key])}" for key in keys)
        return "{" + ",".join(members) + "}"
    if isinstance(value, list):
        return "[" + ",".join(map(canonical, value)) + "]"
    if isinstance(value, bool) or value is None or isinstance(value, str):
        return json.dumps(value, ensure_ascii=False)
    return number_as_ecmascript(value)


def digest(document):
    """SHA-256 of a record without its digest."""
    rest = {key: value for key, value in document.items() if key != "digest"}
    return hashlib.sha256(canonical(rest).encode()).hexdigest()


# --- quantities with uncertainty ---

UNITS = {
    "": 1.0,
    "%": 1e-2,
    "mm": 1e-3,
    "m/s": 1.0,
    "K": 1.0,
    "bar": 1e5,
    "deg": np.pi / 180,
    "us": 1e-6,
    "ns": 1e-9,
    "D": 1.0,
}
# what a calibration of sensors or electronics leaves no uncertainty of
COVERED = {
    "sensors": ("path.wedge_angle", "path.wedge_sound_speed", "meter.wedge_delay"),
    "electronics": ("meter.electronics_delay",),
}
DIVISORS = {"rectangular": 3.0, "triangular": 6.0, "arcsine": 2.0}


def read(text, reference=1.0):
    """The SI value of a number with its unit; a percentage is one of `reference`."""
    number, unit = re.fullmatch(r"\s*([-+.0-9eE]+)\s*(\S*)\s*", text).groups()
    factor = UNITS[unit]
    return float(number) * (factor * abs(reference) if unit == "%" else factor)


def mean(values):
    """Mean, standard deviation of the mean, degrees of freedom (JCGM 100:2008, 4.2)."""
    values = np.asarray(values)
    return float(values.mean()), float(values.std(ddof=1) / np.sqrt(values.size)), values.size - 1


def mean_in_time(values):
    """As `mean`, of readings that follow each other: the spectrum near zero by its cosine terms."""
    values = np.asarray(values)
    n = values.size
    middle, usual, dof = mean(values)
    moments = np.arange(n) + 0.5

    def level(first, last):
        terms = np.arange(first, last + 1)
        waves = np.cos(np.pi / n * terms[:, None] * moments)
        return float(np.mean(2 / n * (waves @ (values - middle)) ** 2))

    most = min(n - 1, 256)
    terms = min(4, most)
    low = level(1, terms)
    while terms < most:
        further = min(terms, most - terms)
        high = level(terms + 1, terms + further)
        # the upper tenth of the normal distribution begins at 1.28
        if high < low * np.exp(-1.2815515655446004 * np.sqrt(2 / terms + 2 / further)):
            low = 2 * low - high
            break
        low = (low * terms + high * further) / (terms + further)
        terms += further
    found = float(np.sqrt(low / n))
    if terms == n - 1 or found <= usual:
        return middle, usual, dof
    return middle, found, terms


def uncertainty(stated, estimate):
    """Standard uncertainty and degrees of freedom as stated (JCGM 100:2008, 4.3)."""
    dof = stated.get("dof", inf)
    if "expanded_uncertainty" in stated:
        return read(stated["expanded_uncertainty"], estimate) / stated["coverage_factor"], dof
    if "half_width" in stated:
        width = read(stated["half_width"], estimate)
        return width / np.sqrt(DIVISORS[stated["shape"]]), dof
    return read(stated["standard_uncertainty"], estimate), dof


def downstream_of_a_bend(stated):
    """The factor downstream of a single bend with the uncertainties of run and orientation."""
    run, angle = (read(stated[key]["value"]) for key in ("straight_run", "orientation"))
    value = bend_factor(run, angle)
    half_width = value * bend_half_width(run)
    inputs = {"installation.factor": (float(value), float(half_width / np.sqrt(3)), inf)}
    tiny = 1e-30
    slopes = {
        "straight_run": bend_factor(run + 1j * tiny, angle).imag / tiny,
        "orientation": bend_factor(run, angle + 1j * tiny).imag / tiny,
    }
    for key, slope in slopes.items():
        u, dof = uncertainty(stated[key], read(stated[key]["value"]))
        inputs[f"installation.factor.{key}"] = (0.0, float(abs(slope * u)), dof)
    return inputs


def inputs_of(site, readings):
    """Estimate, standard uncertainty and degrees of freedom by the name of the input."""
    inputs = {}

    def add(name, stated):
        if "readings" in stated:
            inputs[name] = mean([read(text) for text in stated["readings"]])
            estimate = inputs[name][0]
        else:
            estimate = read(stated["value"])
            inputs[name] = (estimate, *uncertainty(stated, estimate))
        if "instrument" in stated:
            inputs[f"{name}.instrument"] = (0.0, *uncertainty(stated["instrument"], estimate))

    for section in ("liquid", "pipe", "path", "meter", "installation"):
        for key, stated in site[section].items():
            if isinstance(stated, dict) and key not in (
                "thermometer",
                "straight_run",
                "orientation",
            ):
                add(f"{section}.{key}", stated)
    for number, layer in enumerate(site["pipe"].get("layer", []), 1):
        for key in ("thickness", "sound_speed"):
            if key in layer:
                add(f"pipe.layer[{number}].{key}", layer[key])
    for part in site["meter"].get("calibration_covers", []):
        for name in COVERED[part]:
            if name in inputs:
                inputs[name] = (inputs[name][0], 0.0, inf)
    if "fitting" in site["installation"]:
        inputs |= downstream_of_a_bend(site["installation"])
    for column, factor, offset in [
        ("transit_time_us", 1e-6, 0.0),
        ("time_difference_ns", 1e-9, 0.0),
        ("temperature_degC", 1.0, 273.15),
    ]:
        name = column.rpartition("_")[0]
        name = f"liquid.{name}" if name == "temperature" else f"readings.{name}"
        inputs[name] = mean_in_time([factor * float(row[column]) + offset for row in readings])
    inputs["liquid.temperature.instrument"] = (
        0.0,
        *uncertainty(site["liquid"]["thermometer"], 0.0),
    )
    # stated with coverage factor 2 by IAPWS R6-95 (density, sound speed) and R12-08 (viscosity)
    for name, expanded in [("density", 3e-5), ("viscosity", 1e-2), ("sound_speed", 5e-5)]:
        inputs[f"liquid.{name}_formulation"] = (1.0, expanded / 2, inf)
    return inputs


# --- the physics, for real and complex numbers alike ---


def table(file, name):
    """A table of coefficients from the source of the package."""
    text = (SOURCE / file).read_text()
    body = re.search(rf"const {name}: [^=]+ = (\[.*?\]);", text, re.DOTALL)[1]
    return np.array(json.loads(re.sub(r",(\s*\])", r"\1", body.replace("_", ""))))


DENSITY = table("liquid/water_fit.rs", "DENSITY")
SOUND_SPEED = table("liquid/water_fit.rs", "SOUND_SPEED")
EXCESS = table("profile/wake_fit.rs", "FITTED")


def chebyshev(x, range_, degree):
    """The polynomials T_0 to T_degree on a range."""
    x = (2 * x - (range_[0] + range_[1])) / (range_[1] - range_[0])
    terms = [1.0, x]
    while len(terms) <= degree:
        terms.append(2 * x * terms[-1] - terms[-2])
    return np.array(terms[: degree + 1])


def of_water(coefficients, temperature, pressure):
    """Density or sound speed of water."""
    rows, columns = coefficients.shape
    in_temperature = chebyshev(temperature, (270.0, 510.0), rows - 1)
    return in_temperature @ coefficients @ chebyshev(pressure, (0.0, 12.0e6), columns - 1)


# rows: power of (1/t - 1); columns: power of (rho - 1)
VISCOSITY = np.array(
    [
        [0.520094, 0.222531, -0.281378, 0.161913, -0.0325372, 0, 0],
        [0.0850895, 0.999115, -0.906851, 0.257399, 0, 0, 0],
        [-1.08374, 1.88797, -0.772479, 0, 0, 0, 0],
        [-0.289555, 1.26613, -0.489837, 0, 0.0698452, 0, -0.00435673],
        [0, 0, -0.25704, 0, 0, 0.00872102, 0],
        [0, 0.120573, 0, 0, 0, 0, -0.000593264],
    ]
)


def viscosity(temperature, density):
    """Dynamic viscosity of water, IAPWS R12-08, without the critical enhancement."""
    t, rho = temperature / 647.096, density / 322.0
    dilute = 100 * np.sqrt(t) / np.polyval([-0.241605, 0.6366564, 2.20462, 1.67752], 1 / t)
    series = (1 / t - 1) ** np.arange(6) @ VISCOSITY @ (rho - 1) ** np.arange(7)
    return dilute * np.exp(rho * series) * 1e-6


def friction_root(reynolds, roughness):
    """`1/sqrt(f)` of Colebrook and White by Newton's method."""
    x = 7.0
    for _ in range(30):
        inner = roughness / 3.7 + 2.51 * x / reynolds
        slope = 1 + 2 / np.log(10) * 2.51 / reynolds / inner
        x = x - (x + 2 / np.log(10) * np.log(inner)) / slope
    return x


def path_excess(friction_reynolds):
    """Mean on a diameter less mean over the area, in friction velocities."""
    at, *range_ = ((r + 30.0) ** -0.25 for r in (friction_reynolds, 50.0, 5.0e6))
    return EXCESS @ chebyshev(at, range_, EXCESS.size - 1)


def friction_velocity(reynolds, roughness, ratio=1.0):
    """Friction velocity over mean velocity."""
    return np.sqrt(ratio / 8.0) / friction_root(reynolds, roughness)


def factor(reynolds, roughness, ratio=1.0):
    """Profile factor of turbulent flow."""
    u = friction_velocity(reynolds, roughness, ratio)
    return 1 / (1 + u * path_excess(reynolds * u / 2))


def steps_of(x, traverses):
    """Every step from inputs to flow; `x` has the estimates by the name of the input."""

    def of(name):
        return sum(x[n] for n in (name, f"{name}.instrument") if n in x)

    s = {}
    layer = {
        number: (x[f"pipe.layer[{number}].thickness"], x.get(f"pipe.layer[{number}].sound_speed"))
        for number in (1, 2)
        if f"pipe.layer[{number}].thickness" in x
    }
    # of the demonstration: paint under the tape but not under the sensors, and deposit inside
    paint, deposit = layer.get(1, (0.0, None)), layer.get(2, (0.0, 1.0))
    wall, temperature, pressure = (
        of("pipe.wall"),
        of("liquid.temperature"),
        x["liquid.absolute_pressure"],
    )
    s["outside_diameter_m"] = of("pipe.outside_circumference") / np.pi - 2 * paint[0]
    s["inside_diameter_m"] = bore = s["outside_diameter_m"] - 2 * (wall + deposit[0])
    s["area_m2"] = np.pi / 4 * bore**2
    s["chord_offset_m"] = 0.0
    density = of_water(DENSITY, temperature, pressure) * x["liquid.density_formulation"]
    sound_speed = of_water(SOUND_SPEED, temperature, pressure)
    sound_speed = sound_speed * x["liquid.sound_speed_formulation"]
    s["liquid_density_kg_m3"], s["liquid_sound_speed_m_s"] = density, sound_speed
    kinematic = viscosity(temperature, density) / density * x["liquid.viscosity_formulation"]
    s["kinematic_viscosity_m2_s"] = kinematic

    slowness = np.sin(x["path.wedge_angle"]) / x["path.wedge_sound_speed"]
    s["axial_slowness_s_m"] = slowness
    in_wall, in_liquid = slowness * x["pipe.wall_sound_speed"], slowness * sound_speed
    cos_wall, cos_liquid = np.sqrt(1 - in_wall**2), np.sqrt(1 - in_liquid**2)
    s["angle_in_wall_deg"] = np.degrees(np.arcsin(np.real(in_wall)))
    s["angle_in_liquid_deg"] = np.degrees(np.arcsin(np.real(in_liquid)))
    across = traverses * bore
    in_deposit = slowness * deposit[1]
    cos_deposit = np.sqrt(1 - in_deposit**2)
    s["spacing_m"] = (
        2 * wall * in_wall / cos_wall
        + 2 * deposit[0] * in_deposit / cos_deposit
        + across * in_liquid / cos_liquid
    )
    s["expected_time_in_liquid_s"] = across / (sound_speed * cos_liquid)
    delays = ("electronics_delay", "cable_delay", "wedge_delay")
    dead_time = sum(x[f"meter.{name}"] for name in delays)
    dead_time = dead_time + 2 * wall / (x["pipe.wall_sound_speed"] * cos_wall)
    dead_time = dead_time + 2 * deposit[0] / (deposit[1] * cos_deposit)
    s["dead_time_s"] = dead_time
    s["time_in_liquid_s"] = time = x["readings.transit_time"] - dead_time
    difference = x["readings.time_difference"] - x["meter.zero_time_difference"]
    s["time_difference_s"] = difference
    first_order = difference / (2 * slowness * time)
    velocity = first_order / np.sqrt(1 + (first_order * cos_liquid / sound_speed) ** 2)
    s["path_velocity_m_s"] = velocity
    s["beam_drift_m"] = velocity * s["expected_time_in_liquid_s"]

    factors = x["meter.calibration_factor"] * x.get("profile.law_factor", 1.0)
    installation = [x[name] for name in x if name.startswith("installation.factor")]
    factors = factors * sum(installation) * x["installation.remounting"]
    s["relative_roughness"] = roughness = x["pipe.roughness"] / bore
    k = 0.93
    for _ in range(40):  # each turn leaves a twentieth of the error
        reynolds = factors * k * velocity * bore / kinematic
        k = factor(reynolds, roughness, x.get("profile.friction_ratio", 1.0))
    s["reynolds_number"], s["profile_factor"] = reynolds, k
    s["mean_velocity_m_s"] = factors * k * velocity
    s["volume_flow_m3_s"] = s["area_m2"] * s["mean_velocity_m_s"]
    return s


def students_t(dof, coverage_probability):
    """The coverage factor: `x = sqrt(dof) tan(a)` turns the density into `cos(a)^(dof - 1)`."""
    nodes, weights = np.polynomial.legendre.leggauss(40)

    def area(low, high):
        ends = np.linspace(low, high, 41)
        half = np.diff(ends)[:, None] / 2
        angles = (ends[:-1] + ends[1:])[:, None] / 2 + half * nodes
        return float((half * weights * np.cos(angles) ** (dof - 1)).sum())

    # beyond this angle nothing is left of the density
    end = min(np.pi / 2, 12 / np.sqrt(dof))
    whole = area(0.0, end) + (area(end, np.pi / 2) if end < np.pi / 2 else 0.0)
    angle = min(2 / np.sqrt(dof), 1.2)
    for _ in range(60):
        excess = area(0.0, angle) - coverage_probability * whole
        angle -= excess / np.cos(angle) ** (dof - 1)
    return float(np.sqrt(dof) * np.tan(angle))


def recompute(document):
    """All figures of first order, by their names in the results of the record."""
    given = document["content"]["evaluation"]["inputs"]
    site = tomllib.loads(given["site"]["text"])
    readings = list(csv.DictReader(io.StringIO(given["readings"]["csv"]["text"])))
    inputs = inputs_of(site, readings)
    traverses = site["path"]["traverses"]

    here = steps_of({name: value[0] for name, value in inputs.items()}, traverses)
    place = ("reynolds_number", "relative_roughness", "inside_diameter_m")
    law, friction = standard_uncertainties(*(here[name] for name in place), law=factor)
    inputs["profile.law_factor"] = (1.0, law, inf)
    inputs["profile.friction_ratio"] = (1.0, friction, inf)

    names = list(inputs)
    estimates = {name: value[0] for name, value in inputs.items()}
    steps = steps_of(estimates, traverses)
    tiny = 1e-30  # a step along the imaginary axis: the derivative without any difference
    sensitivities = np.array(
        [
            steps_of({**estimates, name: estimates[name] + 1j * tiny}, traverses)[
                "volume_flow_m3_s"
            ].imag
            / tiny
            for name in names
        ]
    )
    u = np.array([inputs[name][1] for name in names])
    correlation = np.eye(len(names))
    for stated in site.get("correlation", []):
        i, j = (names.index(name) for name in stated["between"])
        correlation[i, j] = correlation[j, i] = stated["coefficient"]
    contributions = sensitivities * u
    rows = contributions * (correlation @ contributions)
    variance = rows.sum()
    dof = np.array([inputs[name][2] for name in names])
    effective = 1 / np.sum((contributions / np.sqrt(variance)) ** 4 / dof)
    p = site["site"]["coverage_probability"]
    k = students_t(floor(effective), p)
    flow = steps["volume_flow_m3_s"]
    figures = {
        "volume_flow_m3_s": flow,
        "standard_uncertainty_m3_s": np.sqrt(variance),
        "effective_dof": effective,
        "coverage_probability": p,
        "coverage_dof": floor(effective),
        "coverage_factor": k,
        "expanded_uncertainty_m3_s": k * np.sqrt(variance),
        "readings": len(readings),
    }
    figures |= {f"steps[{name}]": value for name, value in steps.items()}
    for i, name in enumerate(names):
        row = f"budget[{name}]"
        figures[f"{row}.estimate"], figures[f"{row}.standard_uncertainty"] = inputs[name][:2]
        figures[f"{row}.dof"] = inputs[name][2]
        figures[f"{row}.sensitivity"] = sensitivities[i]
        figures[f"{row}.contribution_m3_s"] = contributions[i]
        figures[f"{row}.share"] = rows[i] / variance
    return figures


def recorded(document):
    """The same figures as the record has them."""
    results = document["content"]["evaluation"]["results"]
    figures = {key: value for key, value in results.items() if isinstance(value, int | float)}
    for key in ("effective_dof", "coverage_dof"):
        figures[key] = inf if results[key] is None else results[key]
    figures |= {f"steps[{step['name']}]": step["value"] for step in results["steps"]}
    for row in results["budget"]:
        numbers = {k: v for k, v in row.items() if isinstance(v, int | float)}
        numbers["dof"] = inf if row["dof"] is None else row["dof"]
        figures |= {f"budget[{row['name']}].{key}": value for key, value in numbers.items()}
    return figures


def distances(document):
    """Relative distance of every recorded figure from the recomputed one, by name."""
    old, new = recorded(document), recompute(document)
    if set(old) != set(new):
        raise ValueError(f"not in both: {sorted(set(old) ^ set(new))}")

    def distance(a, b):
        if a == b:
            return 0.0
        return abs(a - b) / max(abs(a), abs(b)) if isfinite(a) and isfinite(b) else inf

    return {name: distance(old[name], float(np.real(new[name]))) for name in old}


def main(path):
    """Print how far the recorded figures are from the recomputed ones."""
    document = json.loads(Path(path).read_text())
    found = digest(document)
    agrees = found == document["digest"]["value"]
    print(f"SHA-256 {found}: {'as stated' if agrees else 'NOT as stated'}")
    far = sorted(distances(document).items(), key=lambda item: -item[1])
    for name, distance in far[:10]:
        print(f"{distance:.1e}  {name}")
    worst = far[0][1]
    print(f"{len(far)} figures, the farthest {worst:.1e} ({-log2(worst or 1e-300):.0f} bits agree)")
    return 0 if agrees and worst <= 1e-12 else 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1]))
