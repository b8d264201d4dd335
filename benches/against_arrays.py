"""Monte Carlo of one site: flowdoubt against the same model in numpy, numba and JAX.

    pip install numba jax
    python benches/against_arrays.py [--trials 1000000] [--rounds 12]

Each round runs every contender once, in another order, so that whatever else the machine does, and
whatever threads a contender leaves behind, meets all alike. A run draws 17 inputs, evaluates the
model and finds mean, standard deviation and the 95 % interval. Printed are medians in ns a trial
and their ratios. Then how long numpy and flowdoubt take to know the standard uncertainty to a
thousandth of itself: numpy by half a million trials, which leave 1/sqrt(2 n), and flowdoubt by 64
points in mirrored pairs.

The others get what a good user of theirs would write: properties of water and the excess of the
profile as polynomials of low degree over the range of this site, friction and profile solved
together in three steps from a good start, and single passes over the data where the package can.
"""

import argparse
import math
import random
import statistics
import time
from pathlib import Path

import numpy as np

import flowdoubt as fd

SITE = Path(__file__).parent / "site.toml"
LOG10 = math.log(10.0)
ROOT8 = math.sqrt(8.0)


def readings():
    """31 readings whose means and scatter are those of a quiet flow."""
    wave = np.sin(np.arange(31.0))
    return {"transit_time_us": 610.74 + 0.06 * wave, "time_difference_ns": 801.3 + 5.0 * wave}


class Fits:
    """Polynomials that a user would fit to the range of the site."""

    def __init__(self):
        t = np.linspace(-1.0, 1.0, 101)
        kelvin, pressure = 281.25 + 4.0 * t, 7.2e5
        self.log_viscosity = np.polyfit(
            t, np.log(fd.water.kinematic_viscosity(kelvin, pressure=pressure)), 4
        )
        self.sound_speed = np.polyfit(t, fd.water.sound_speed(kelvin, pressure=pressure), 4)
        # excess of the path mean over the area mean, in friction velocities
        reynolds = np.geomspace(2e4, 2e7, 200)
        u = np.sqrt(fd.profile.friction_factor(reynolds) / 8.0)
        excess = (1.0 / fd.profile.correction_factor(reynolds, law="wake") - 1.0) / u
        self.excess = np.polyfit((reynolds * u / 2.0) ** -0.5, excess, 6)


FITS = Fits()
LOG_VISCOSITY, SOUND_SPEED, EXCESS = (
    tuple(map(float, c)) for c in (FITS.log_viscosity, FITS.sound_speed, FITS.excess)
)


def horner(coefficients, x):
    """A polynomial, highest power first."""
    y = coefficients[0]
    for c in coefficients[1:]:
        y = y * x + c
    return y


def flow(xp, x):
    """The model of the site in operations of the array package `xp`."""
    bore = x["diameter"] - 2.0 * x["wall"]
    t = (x["temperature"] - 281.25) / 4.0
    viscosity = xp.exp(horner(LOG_VISCOSITY, t)) * x["viscosity"] / x["density"]
    sound_speed = horner(SOUND_SPEED, t) * x["sound_speed"]
    slowness = xp.sin(x["angle"]) / x["wedge_speed"]
    sine = slowness * x["wall_speed"]
    in_wall = 2.0 * x["wall"] / (x["wall_speed"] * xp.sqrt(1.0 - sine * sine))
    in_liquid = x["transit"] - (x["electronics"] + x["wedge"] + in_wall)
    velocity = (x["difference"] - x["zero"]) / (2.0 * slowness * in_liquid)
    cosine2 = 1.0 - (slowness * sound_speed) ** 2
    velocity = velocity / xp.sqrt(1.0 + (velocity / sound_speed) ** 2 * cosine2)
    velocity = velocity * x["law"] * x["installation"]
    k = profile_factor(xp, velocity * bore / viscosity, x["roughness"] / bore)
    return 0.25 * math.pi * bore * bore * k * velocity


def profile_factor(xp, path_reynolds, roughness):
    """Colebrook's friction and the profile, solved for the path velocity in friction velocities."""
    viscous = 2.0 / path_reynolds
    rough, smooth = roughness / 3.7, 2.51 * viscous / (4.0 * math.sqrt(2.0))
    factor = 2.0 * ROOT8 / LOG10
    w = 24.0
    excess = 1.38
    for _ in range(3):
        inner = rough + smooth * w
        residual = w + factor * xp.log(inner) - excess
        w = w - residual / (1.0 + factor * smooth / inner)
        excess = horner(EXCESS, xp.sqrt(viscous * w))
    return 1.0 - excess / w


def inputs_of(evaluation):
    """Estimate and scale of each input, by the names of the model above."""
    names = {
        "profile.law_factor": "law",
        "pipe.roughness": "roughness",
        "liquid.temperature": "temperature",
        "liquid.density_formulation": "density",
        "liquid.viscosity_formulation": "viscosity",
        "pipe.outside_diameter": "diameter",
        "pipe.wall": "wall",
        "path.wedge_angle": "angle",
        "path.wedge_sound_speed": "wedge_speed",
        "liquid.sound_speed_formulation": "sound_speed",
        "readings.time_difference": "difference",
        "meter.zero_time_difference": "zero",
        "readings.transit_time": "transit",
        "meter.electronics_delay": "electronics",
        "meter.wedge_delay": "wedge",
        "pipe.wall_sound_speed": "wall_speed",
        "installation.factor": "installation",
    }
    found = {}
    columns = evaluation.budget.columns(si=True)
    keys = ("input", "distribution", "estimate", "standard_uncertainty")
    for name, shape, estimate, u in zip(*(columns[key] for key in keys), strict=True):
        if name in names:
            found[names[name]] = (shape.replace("Student's t", "normal"), estimate, u)
    assert set(found) == set(names.values())
    return found


HALF_WIDTHS = {"normal": 1.0, "rectangular": math.sqrt(3.0), "triangular": math.sqrt(6.0)}


def numpy_run(inputs, trials, seed):
    rng = np.random.default_rng(seed)
    draw = {
        "normal": lambda m, s: rng.normal(m, s, trials),
        "rectangular": lambda m, h: rng.uniform(m - h, m + h, trials),
        "triangular": lambda m, h: rng.triangular(m - h, m, m + h, trials),
    }
    x = {n: draw[shape](m, HALF_WIDTHS[shape] * u) for n, (shape, m, u) in inputs.items()}
    q = flow(np, x)
    return q.mean(), q.std(ddof=1), *np.quantile(q, [0.025, 0.975])


def jax_run(inputs):
    import jax
    import jax.numpy as jnp

    jax.config.update("jax_enable_x64", True)

    def run(key, trials):
        x = {}
        for key_, (n, (shape, m, u)) in zip(
            jax.random.split(key, len(inputs)), inputs.items(), strict=True
        ):
            h = HALF_WIDTHS[shape] * u
            if shape == "normal":
                x[n] = m + u * jax.random.normal(key_, (trials,))
            elif shape == "rectangular":
                x[n] = jax.random.uniform(key_, (trials,), minval=m - h, maxval=m + h)
            else:
                two = jax.random.uniform(key_, (2, trials))
                x[n] = m + h * (two[0] - two[1])
        q = flow(jnp, x)
        return q.mean(), q.std(ddof=1), jnp.quantile(q, jnp.array([0.025, 0.975]))

    compiled = jax.jit(run, static_argnums=1)

    def call(trials, seed):
        mean, deviation, ends = jax.block_until_ready(compiled(jax.random.key(seed), trials))
        return float(mean), float(deviation), float(ends[0]), float(ends[1])

    return call


def numba_run(inputs):
    import numba

    order = list(inputs)
    middle = np.array([inputs[n][1] for n in order])
    scale = np.array([HALF_WIDTHS[inputs[n][0]] * inputs[n][2] for n in order])
    kind = np.array([list(HALF_WIDTHS).index(inputs[n][0]) for n in order])
    at = {n: i for i, n in enumerate(order)}
    i_law, i_rough, i_inst = at["law"], at["roughness"], at["installation"]
    i_t, i_rho, i_nu, i_c = at["temperature"], at["density"], at["viscosity"], at["sound_speed"]
    i_d, i_e, i_wall = at["diameter"], at["wall"], at["wall_speed"]
    i_angle, i_cw = at["angle"], at["wedge_speed"]
    i_dt, i_zero, i_time = at["difference"], at["zero"], at["transit"]
    i_el, i_wedge = at["electronics"], at["wedge"]
    log_viscosity, speed, excesses = map(np.array, (LOG_VISCOSITY, SOUND_SPEED, EXCESS))
    count, factor = len(order), 2.0 * ROOT8 / LOG10

    @numba.njit(fastmath=True, inline="always")
    def series(c, x):
        y = c[0]
        for i in range(1, c.size):
            y = y * x + c[i]
        return y

    @numba.njit(parallel=True, fastmath=True)
    def trials_of(q, blocks, seed):
        size = q.size // blocks
        for block in numba.prange(blocks):
            np.random.seed(seed * 1_000_003 + block)
            x = np.empty(count)
            for trial in range(block * size, (block + 1) * size):
                for i in range(count):
                    if kind[i] == 0:
                        x[i] = middle[i] + scale[i] * np.random.standard_normal()
                    elif kind[i] == 1:
                        x[i] = middle[i] + scale[i] * (2.0 * np.random.random() - 1.0)
                    else:
                        x[i] = middle[i] + scale[i] * (np.random.random() - np.random.random())
                bore = x[i_d] - 2.0 * x[i_e]
                t = (x[i_t] - 281.25) / 4.0
                viscosity = math.exp(series(log_viscosity, t)) * x[i_nu] / x[i_rho]
                sound_speed = series(speed, t) * x[i_c]
                slowness = math.sin(x[i_angle]) / x[i_cw]
                sine = slowness * x[i_wall]
                in_wall = 2.0 * x[i_e] / (x[i_wall] * math.sqrt(1.0 - sine * sine))
                in_liquid = x[i_time] - (x[i_el] + x[i_wedge] + in_wall)
                velocity = (x[i_dt] - x[i_zero]) / (2.0 * slowness * in_liquid)
                cosine2 = 1.0 - (slowness * sound_speed) ** 2
                velocity /= math.sqrt(1.0 + (velocity / sound_speed) ** 2 * cosine2)
                velocity *= x[i_law] * x[i_inst]
                viscous = 2.0 * viscosity / (velocity * bore)
                rough = x[i_rough] / bore / 3.7
                smooth = 2.51 * viscous / (4.0 * math.sqrt(2.0))
                w = 24.0
                excess = 1.38
                for _ in range(3):
                    inner = rough + smooth * w
                    w -= (w + factor * math.log(inner) - excess) / (1.0 + factor * smooth / inner)
                    excess = series(excesses, math.sqrt(viscous * w))
                q[trial] = 0.25 * math.pi * bore * bore * (1.0 - excess / w) * velocity

    def call(trials, seed):
        blocks = 64
        q = np.empty(trials // blocks * blocks)
        trials_of(q, blocks, seed)
        return q.mean(), q.std(ddof=1), *np.quantile(q, [0.025, 0.975])

    return call


def main():
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--trials", type=int, default=1_000_000)
    parser.add_argument("--rounds", type=int, default=12)
    options = parser.parse_args()
    evaluation = fd.Site.load(SITE).evaluate(readings())
    inputs = inputs_of(evaluation)
    at_estimates = flow(np, {n: np.float64(m) for n, (_, m, _) in inputs.items()})
    off = at_estimates / evaluation.value("SI") - 1.0
    print(f"{len(inputs)} inputs; the model of the others is off by {off:.1e} at the estimates")
    assert abs(off) < 1e-6, "not the same model"

    def ours(trials, seed):
        run = evaluation.monte_carlo(trials=trials, seed=seed)
        return *run.result("SI"), *run.interval(0.95, unit="SI")

    contenders = {
        "numpy": lambda trials, seed: numpy_run(inputs, trials, seed),
        "numba": numba_run(inputs),
        "jax": jax_run(inputs),
        "flowdoubt": ours,
    }
    times = {name: [] for name in contenders}
    for name, run in contenders.items():  # compiles, and shows that all find the same
        mean, deviation, low, high = run(options.trials, 1)
        print(f"{name:10} mean {mean:.6f} u {deviation:.7f} interval {low:.6f} {high:.6f} m3/s")
    for turn in range(options.rounds):
        for name in random.Random(turn).sample(list(contenders), len(contenders)):
            run = contenders[name]
            # once for itself: threads of the one before spin on, its memory is still returned
            run(options.trials, turn + 2)
            start = time.perf_counter()
            run(options.trials, turn + 2)
            times[name].append((time.perf_counter() - start) / options.trials * 1e9)
    medians = {name: statistics.median(t) for name, t in times.items()}
    for name, median in medians.items():
        ratio = median / medians["flowdoubt"]
        print(f"{name:10} {median:8.1f} ns a trial, {ratio:5.1f} times flowdoubt")
    time_to_accuracy(evaluation, inputs, options.rounds)


def time_to_accuracy(evaluation, inputs, rounds):
    reference = evaluation.low_discrepancy(points=16_384).outputs[0]["standard_uncertainty"][0]
    few = {"points": 16, "replicates": 4, "antithetic": True}
    plain, ours, errors = [], [], []
    for turn in range(rounds):
        start = time.perf_counter()
        numpy_run(inputs, 500_000, turn + 2)
        plain.append(time.perf_counter() - start)
        calls = 50
        start = time.perf_counter()
        for call in range(calls):
            run = evaluation.low_discrepancy(seed=turn * calls + call, **few)
            errors.append(run.outputs[0]["standard_uncertainty"][0] / reference - 1.0)
        ours.append((time.perf_counter() - start) / calls)
    error = math.sqrt(statistics.fmean(e * e for e in errors))
    plain, ours = statistics.median(plain), statistics.median(ours)
    print(
        f"standard uncertainty to 1e-3: numpy {plain * 1e3:.0f} ms, flowdoubt {ours * 1e6:.0f} us"
    )
    print(f"({error:.1e} found in {len(errors)} runs), {plain / ours:.0f} times less")


if __name__ == "__main__":
    main()
