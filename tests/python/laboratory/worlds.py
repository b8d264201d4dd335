"""Worlds that are as their site files say: every truth is drawn from what is stated of it."""

from dataclasses import dataclass, field

import numpy as np
from iapws import IAPWS95, _iapws

from . import meter, profile

SHAPES = ("rectangular", "triangular", "normal", "student")


@dataclass
class World:
    """A site, the readings of its meter, and the flow that nobody knows."""

    kind: str
    site: str
    readings: dict
    volume_flow: float
    inputs: dict = field(default_factory=dict)


class Statements:
    """Writes what a site file states of quantities, and draws their truth from it."""

    def __init__(self, generator):
        self.generator = generator
        self.lines = {name: [] for name in ("liquid", "pipe", "path", "meter", "installation")}

    def key(self, section, line):
        self.lines[section].append(line)

    def stated(self, section, key, estimate, u, unit, factor, shape=None):
        """State a value with its standard uncertainty, and return a truth in SI units."""
        draw = self.generator
        shape = shape or draw.choice(SHAPES)
        spread = {"rectangular": 3**0.5, "triangular": 6**0.5}.get(shape)
        if spread:
            words = f'half_width = "{u * spread:.12g} {unit}", shape = "{shape}"'
            ends = (-u * spread, u * spread)
            deviation = draw.uniform(*ends) if spread < 2 else draw.triangular(ends[0], 0, ends[1])
        else:
            dof = "" if shape == "normal" else ", dof = 9"
            words = f'standard_uncertainty = "{u:.12g} {unit}"{dof}'
            deviation = u * (draw.standard_normal() if shape == "normal" else draw.standard_t(9))
        self.key(section, f'{key} = {{ value = "{estimate:.12g} {unit}", {words} }}')
        return (estimate + deviation) * factor

    def measured(self, section, key, truth, scatter, unit, factor, count):
        """State readings about a truth of which nothing was known before them."""
        readings = truth + scatter * self.generator.standard_normal(count)
        quoted = ", ".join(f'"{value:.9f} {unit}"' for value in readings)
        self.key(section, f"{key} = {{ readings = [{quoted}] }}")
        return truth * factor

    def text(self, *, basis, traverses, law="fitted"):
        head = '[site]\nname = "virtual"\n'
        self.key("path", f'basis = "{basis}"\ntraverses = {traverses}')
        body = "".join(
            f"[{section}]\n" + "\n".join(lines) + "\n" for section, lines in self.lines.items()
        )
        return head + body + f'[profile]\nlaw = "{law}"\nfriction = "colebrook"\n'


def water(temperature, pressure):
    """Sound speed in m/s and kinematic viscosity in m2/s, by the package `iapws`."""
    state = IAPWS95(T=temperature, P=pressure / 1e6)
    return state.w, _iapws._Viscosity(state.rho, temperature) / state.rho


def noise(generator, rows, memory):
    """Unit noise of which each value keeps a share of the one before."""
    values = generator.standard_normal(rows)
    for i in range(1, rows):
        values[i] = memory * values[i - 1] + (1 - memory**2) ** 0.5 * values[i]
    return values


KINDS = tuple(
    f"{basis}, {liquid}, {lining}"
    for basis in ("timed", "geometric")
    for liquid in ("water", "stated liquid")
    for lining in ("bare", "lined", "painted")
)


def consistent(kind, seed):
    """A site of a kind, everything about it drawn as its file and the package state it."""
    basis, liquid, lining = kind.split(", ")
    generator = np.random.default_rng([seed, KINDS.index(kind)])
    say = Statements(generator)
    traverses = int(generator.choice([1, 2, 4]))

    diameter = float(np.exp(generator.uniform(np.log(60.0), np.log(900.0))))
    wall = diameter * generator.uniform(0.02, 0.05)
    paint = paint_speed = 0.0
    if lining == "painted":
        # the layer itself is stated last, since its table ends the section
        paint, u_paint = 0.3, 0.05
    outside = say.stated("pipe", "outside_diameter", diameter, 0.001 * diameter, "mm", 1e-3)
    if generator.random() < 0.5:
        thickness = say.stated("pipe", "wall", wall, 0.01 * wall, "mm", 1e-3)
    else:
        thickness = say.measured("pipe", "wall", wall, 0.01 * wall, "mm", 1e-3, 6)
    wall_speed = say.stated("pipe", "wall_sound_speed", 3230.0, 20.0, "m/s", 1.0)
    roughness = say.stated("pipe", "roughness", 0.05, 0.01, "mm", 1e-3, "triangular")
    layers = [(thickness, wall_speed)]
    lined = 0.0
    if lining == "lined":
        lined = say.stated("pipe", "liner", 3.0, 0.1, "mm", 1e-3)
        layers.append((lined, say.stated("pipe", "liner_sound_speed", 2300.0, 40.0, "m/s", 1.0)))
    if lining == "painted":
        say.key("pipe", 'gauge_sound_speed = "5900 m/s"')
        say.key("pipe", "[[pipe.layer]]\nside = 'outside'\nname = 'paint'")
        say.key("pipe", 'measured_over = ["outside_dimension", "wall"]')
        paint = say.stated("pipe", "thickness", paint, u_paint, "mm", 1e-3, "rectangular")
        paint_speed = say.stated("pipe", "sound_speed", 2400.0, 40.0, "m/s", 1.0)
        outside -= 2 * paint
        thickness -= paint * 5900.0 / paint_speed
        layers = [(paint, paint_speed), (thickness, wall_speed)]
    bore = outside - 2 * (thickness + lined)

    if liquid == "water":
        say.key("liquid", 'kind = "water"')
        celsius = generator.uniform(5.0, 60.0)
        temperature = say.stated("liquid", "temperature", celsius, 0.2, "degC", 1.0) + 273.15
        pressure = say.stated("liquid", "absolute_pressure", 5.0, 0.1, "bar", 1e5)
        sound_speed, viscosity = water(temperature, pressure)
        # IAPWS R6-95 and R12-08, as the package states them
        sound_speed *= 1 + 2.5e-5 * generator.standard_normal()
        viscosity *= 1 + 5e-3 * generator.standard_normal()
    else:
        say.key("liquid", 'kind = "stated"')
        sound_speed = say.stated("liquid", "sound_speed", 1480.0, 3.0, "m/s", 1.0)
        nu = float(np.exp(generator.uniform(np.log(0.5), np.log(3.0))))
        viscosity = say.stated("liquid", "kinematic_viscosity", nu, 0.02 * nu, "mm2/s", 1e-6)

    angle = say.stated("path", "wedge_angle", 39.0, 0.1, "deg", np.pi / 180)
    wedge_speed = say.stated("path", "wedge_sound_speed", 2440.0, 6.0, "m/s", 1.0)
    slowness = np.sin(angle) / wedge_speed
    calibration = say.stated("meter", "calibration_factor", 1.0, 0.003, "", 1.0)
    say.key("meter", "calibration_covers = []")
    zero = say.stated("meter", "zero_time_difference", 0.2, 0.3, "ns", 1e-9)
    delay = say.stated("meter", "electronics_delay", 0.5, 0.02, "us", 1e-6)
    delay += say.stated("meter", "wedge_delay", 15.0, 0.1, "us", 1e-6)
    factor = say.stated("installation", "factor", 1.0, 0.004, "", 1.0)
    remounting = say.stated("installation", "remounting", 1.0, 0.003, "", 1.0)

    mean_velocity = float(np.exp(generator.uniform(np.log(0.6), np.log(4.0))))
    reynolds, relative = mean_velocity * bore / viscosity, roughness / bore
    u_law, u_friction = profile.standard_uncertainties(reynolds, relative, bore)
    law = 1 + u_law * generator.standard_normal()
    ratio = 1 + u_friction * generator.standard_normal()
    k = profile.factor(reynolds, relative, ratio)
    path_velocity = mean_velocity / (calibration * factor * remounting * law * k)
    spacing = meter.spacing_at_rest(slowness, layers, bore, sound_speed, traverses)
    mean, difference = meter.times(spacing, layers, bore, sound_speed, traverses, path_velocity)

    rows, memory = 120, float(generator.choice([0.0, 0.6]))
    noisy = {
        "time_difference_ns": 1e9
        * (difference * (1 + 0.01 * noise(generator, rows, memory)) + zero)
    }
    if basis == "timed":
        noisy["transit_time_us"] = 1e6 * (mean + delay) + 0.003 * noise(generator, rows, memory)
    return World(
        kind=kind,
        site=say.text(basis=basis, traverses=traverses),
        readings=noisy,
        volume_flow=np.pi / 4 * bore**2 * mean_velocity,
    )
