"""Golden values of the elementary functions, and their error over the whole range of doubles.

Writes tests/golden/elementary.json. Run from the repository root:

    python tests/golden/generate/elementary.py [--check]

The file holds edges and some ordinary arguments; each value is the double nearest to that of
mpmath. Besides, the functions of the crate are run through its example `elementary` at 100 000
arguments each, and the largest error found is printed; it must be below 1 ulp. An ulp is the
distance between doubles at the exact value; below the normal range it is that of subnormals.
"""

import math
import random
import struct
import subprocess
import sys
from pathlib import Path

import mpmath
from _committed import one_point_a_line, write_or_check
from mpmath import mp, mpf

# what it runs of the crate
DEPENDS = [
    "src/scalar/**/*.rs",
    "tests/golden/generate/elementary.rs",
    "tests/rust/scalar/elementary_functions.rs",
]

GOLDEN = Path("tests/golden/elementary.json")
COUNT = 100_000
mp.prec = 140
PI_HALF_WORST = 6381956970095103 * 2.0**797  # nearest of all doubles to a multiple of pi/2
MAX, TINY, NORMAL = sys.float_info.max, 5e-324, sys.float_info.min


def normal_quantile(p):
    """For one value: Newton's rule on the logarithm of the smaller tail."""
    p = mpf(p)
    tail = min(p, 1 - p)
    x = mpmath.sqrt(-2 * mpmath.log(tail)) if tail < 0.4 else mpf(1) / 2
    for _ in range(200):
        found = mpmath.erfc(x / mpmath.sqrt(2)) / 2
        step = mpmath.log(found / tail) * found / mpmath.npdf(x)
        x += max(min(step, mpf(1)), mpf(-1))
        if abs(step) < mpf(2) ** -120:
            break
    return -x if p < mpf(1) / 2 else x


def normal_quantile_error(p, x):
    """Error of a nearly exact quantile, from the distribution function: one step of Newton."""
    p, x = mpf(p), mpf(x)
    if p < mpf(1) / 2:
        return (mpmath.erfc(-x / mpmath.sqrt(2)) / 2 - p) / mpmath.npdf(x)
    return ((1 - p) - mpmath.erfc(x / mpmath.sqrt(2)) / 2) / mpmath.npdf(x)


FUNCTIONS = {
    "exp": mpmath.exp,
    "ln": mpmath.log,
    "sin": mpmath.sin,
    "cos": mpmath.cos,
    "tan": mpmath.tan,
    "asin": mpmath.asin,
    "atan": mpmath.atan,
    "sqrt": mpmath.sqrt,
    "powf": mpmath.power,
    "normal_quantile": normal_quantile,
}


def any_double(draw):
    """A double of any exponent and sign."""
    while True:
        (x,) = struct.unpack("<d", draw.getrandbits(64).to_bytes(8, "little"))
        if math.isfinite(x):
            return x


def near_right_angle(draw):
    """The double nearest to a multiple of pi/2, or a neighbour."""
    n = draw.randrange(1, 2 ** draw.randrange(1, 52))
    x = float(n * mp.pi / 2)
    return draw.choice([x, math.nextafter(x, 0), math.nextafter(x, math.inf)])


def angle(draw):
    kind = draw.randrange(5)
    if kind == 0:
        return any_double(draw)
    if kind == 1:
        return near_right_angle(draw)
    if kind == 2:
        return draw.uniform(-1e6, 1e6) * draw.choice([1, 10])
    return draw.uniform(-7, 7)


def power_arguments(draw):
    """A base and an exponent whose power is a finite double."""
    while True:
        x = abs(any_double(draw)) if draw.random() < 0.3 else draw.lognormvariate(0, 3)
        largest = 744 / max(abs(math.log(x)), 1e-6) if x > 0 else 0
        y = draw.uniform(-largest, largest) if draw.random() < 0.5 else draw.gauss(0, 3)
        if x > 0 and -744 < y * math.log(x) < 709.7:
            return x, y


def probability(draw):
    kind = draw.randrange(6)
    if kind == 0:
        return math.exp(-draw.uniform(0.7, 744))
    if kind == 1:
        return 1 - 2.0 ** -draw.uniform(1, 52.9)
    if kind == 2:
        return 0.5 + draw.choice([-1, 1]) * 2.0 ** -draw.uniform(1.05, 40)
    return draw.random() or 0.5


ARGUMENTS = {
    "exp": lambda d: d.uniform(-745.1, 709.78) if d.random() < 0.6 else d.gauss(0, 1),
    "ln": lambda d: abs(any_double(d)) if d.random() < 0.4 else d.lognormvariate(0, 0.5),
    "sin": angle,
    "cos": angle,
    "tan": angle,
    "asin": lambda d: d.uniform(-1, 1) if d.random() < 0.8 else 1 - 2.0 ** -d.uniform(1, 53),
    "atan": lambda d: any_double(d) if d.random() < 0.3 else d.gauss(0, 3),
    "sqrt": lambda d: abs(any_double(d)),
    "powf": power_arguments,
    "normal_quantile": probability,
}

EDGES = {
    "exp": [0.0, -0.0, 1.0, -1.0, TINY, 1e-300, 2.0**-54, 709.782712893384, -708.4, -744.0, -745.13,
            -745.2, 710.0, -1e308, MAX],
    "ln": [1.0, math.nextafter(1, 0), math.nextafter(1, 2), TINY, 1e-310, NORMAL, MAX, 0.7071, 2.0],
    "sin": [0.0, -0.0, TINY, -1e-310, 1e-8, 0.5, math.pi, 1e6, 1e6 + 1, 1e22, MAX, PI_HALF_WORST],
    "cos": [0.0, TINY, 1e-8, 0.5, math.pi / 2, 1e6, -1e6 - 1, 1e22, MAX, PI_HALF_WORST],
    "tan": [0.0, -0.0, TINY, 1e-310, 0.78539816339744828, math.pi / 2, 1e22, MAX, PI_HALF_WORST],
    "asin": [0.0, -0.0, TINY, 1e-310, 0.5, math.nextafter(0.5, 0), 0.975, 0.98, 1.0, -1.0,
             math.nextafter(1, 0)],
    "atan": [0.0, -0.0, TINY, 1e-310, 0.4375, 0.6875, 1.0, 1.1875, 2.4375, 1e300, -MAX],
    "sqrt": [0.0, TINY, 2.0, MAX],
    "powf": [(2.0, 0.5), (1.0, 1e300), (TINY, 0.5), (MAX, 1.0), (1.0000001, 7e9), (10.0, -320.0),
             (0.5, 1074.0), (3.0, 0.0), (0.9, 1e4), (1e-5, -60.0)],
    "normal_quantile": [TINY, 1e-310, 1e-300, 1e-21, 0.002, math.nextafter(0.002, 0), 0.25, 0.3,
                        math.nextafter(0.5, 0), math.nextafter(0.5, 1), 0.998, 0.999, 1 - 2.0**-53],
}  # fmt: skip


def arguments(x):
    return x if isinstance(x, tuple) else (x,)


def exact(name, x):
    with mp.workprec(1300 if name in ("sin", "cos", "tan") else 140):
        return FUNCTIONS[name](*(mpf(a) for a in arguments(x)))


def point(name, x):
    """One line of the file; an infinite value is said in words, since JSON has none."""
    value = float(exact(name, x)) if x != 0 else float(x) if name != "cos" else 1.0
    if name == "exp" and x == 0:
        value = 1.0
    line = dict(zip("xy", arguments(x), strict=False))
    return line | {"value": value if math.isfinite(value) else "infinite"}


def golden():
    draw = random.Random(5)
    return {
        name: {
            "source": f"mpmath {name}",
            "points": [point(name, x) for x in edges + [ARGUMENTS[name](draw) for _ in range(20)]],
        }
        for name, edges in EDGES.items()
    }


def bits(x):
    return struct.pack(">d", x).hex()


def largest_errors():
    draw = random.Random(7)
    points = [(name, ARGUMENTS[name](draw)) for name in FUNCTIONS for _ in range(COUNT)]
    lines = "\n".join(" ".join([n, *(bits(a) for a in arguments(x))]) for n, x in points)
    command = ["cargo", "run", "--quiet", "--profile", "test", "--example", "elementary"]
    output = subprocess.run(command, input=lines, capture_output=True, text=True, check=True).stdout
    worst = dict.fromkeys(FUNCTIONS, (0.0, None))
    for (name, x), line in zip(points, output.split(), strict=True):
        (found,) = struct.unpack(">d", bytes.fromhex(line))
        if name == "normal_quantile":
            error = normal_quantile_error(x, found)
            size = abs(found)
        else:
            true = exact(name, x)
            if abs(true) >= mpf(2) ** 1024 and math.isinf(found):
                continue
            error, size = mpf(found) - true, abs(float(true))
        ulps = abs(float(error / mpf(math.ulp(size)))) if size < math.inf else math.inf
        if not ulps <= worst[name][0]:
            worst[name] = (ulps, x)
    return worst


def main():
    text = one_point_a_line(golden())
    write_or_check(GOLDEN, text, relative=2.3e-16)
    worst = largest_errors()
    for name, (ulps, x) in worst.items():
        print(f"{name:16} {ulps:.3f} ulp at {x!r}")
    if not all(ulps < 1 for ulps, _ in worst.values()):
        sys.exit("an error of 1 ulp or more")


if __name__ == "__main__":
    main()
