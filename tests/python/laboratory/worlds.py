"""Worlds that are as their site files say: every truth is drawn from what is stated of it."""

from dataclasses import dataclass

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
    """In m3/s; of a log the usual one."""
    course: np.ndarray
    """The flow of each row over the usual one."""


class Statements:
    """Writes what a site file states of quantities, and draws their truth from it."""

    def __init__(self, generator):
        self.generator = generator
        self.lines = {name: [] for name in ("liquid", "pipe", "path", "meter", "installation")}
        self.programmed = []

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
        if self.programmed:
            body += "[meter.programmed]\n" + "\n".join(self.programmed) + "\n"
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


BASES = ("timed", "geometric", "indicated")
LIQUIDS = ("water", "stated liquid")
PIPES = ("bare", "lined", "painted", "downstream of a bend")
KINDS = tuple(
    f"{basis}, {liquid}, {pipe}" for basis in BASES for liquid in LIQUIDS for pipe in PIPES
)


def _pipe(say, pipe):
    """The bore in m, the layers that the ray crosses, and the roughness in m."""
    generator = say.generator
    diameter = float(np.exp(generator.uniform(np.log(60.0), np.log(900.0))))
    wall = diameter * generator.uniform(0.02, 0.05)
    outside = say.stated("pipe", "outside_diameter", diameter, 0.001 * diameter, "mm", 1e-3)
    if generator.random() < 0.5:
        thickness = say.stated("pipe", "wall", wall, 0.01 * wall, "mm", 1e-3)
    else:
        thickness = say.measured("pipe", "wall", wall, 0.01 * wall, "mm", 1e-3, 6)
    wall_speed = say.stated("pipe", "wall_sound_speed", 3230.0, 20.0, "m/s", 1.0)
    roughness = say.stated("pipe", "roughness", 0.05, 0.01, "mm", 1e-3, "triangular")
    layers = [(thickness, wall_speed)]
    lined = 0.0
    if pipe == "lined":
        lined = say.stated("pipe", "liner", 3.0, 0.1, "mm", 1e-3)
        layers.append((lined, say.stated("pipe", "liner_sound_speed", 2300.0, 40.0, "m/s", 1.0)))
    if pipe == "painted":
        say.key("pipe", 'gauge_sound_speed = "5900 m/s"')
        # its table ends the section
        say.key("pipe", "[[pipe.layer]]\nside = 'outside'\nname = 'paint'")
        say.key("pipe", 'measured_over = ["outside_dimension", "wall"]')
        paint = say.stated("pipe", "thickness", 0.3, 0.05, "mm", 1e-3, "rectangular")
        paint_speed = say.stated("pipe", "sound_speed", 2400.0, 40.0, "m/s", 1.0)
        outside -= 2 * paint
        thickness -= paint * 5900.0 / paint_speed
        layers = [(paint, paint_speed), (thickness, wall_speed)]
    return outside - 2 * (thickness + lined), layers, roughness


def _liquid(say, liquid):
    """Sound speed in m/s and kinematic viscosity in m2/s."""
    generator = say.generator
    if liquid == "water":
        say.key("liquid", 'kind = "water"')
        celsius = generator.uniform(5.0, 60.0)
        temperature = say.stated("liquid", "temperature", celsius, 0.2, "degC", 1.0) + 273.15
        pressure = say.stated("liquid", "absolute_pressure", 5.0, 0.1, "bar", 1e5)
        sound_speed, viscosity = water(temperature, pressure)
        # IAPWS R6-95 and R12-08, as the package states them
        sound_speed *= 1 + 2.5e-5 * generator.standard_normal()
        return sound_speed, viscosity * (1 + 5e-3 * generator.standard_normal())
    say.key("liquid", 'kind = "stated"')
    sound_speed = say.stated("liquid", "sound_speed", 1480.0, 3.0, "m/s", 1.0)
    nu = float(np.exp(generator.uniform(np.log(0.5), np.log(3.0))))
    return sound_speed, say.stated("liquid", "kinematic_viscosity", nu, 0.02 * nu, "mm2/s", 1e-6)


def _installation(say, pipe):
    """True over undisturbed profile factor, with the effect of mounting the sensors."""
    if pipe == "downstream of a bend":
        say.key("installation", 'fitting = "single_bend"')
        at = say.stated("installation", "straight_run", 12.0, 0.3, "D", 1.0)
        angle = say.stated("installation", "orientation", 60.0, 4.0, "deg", np.pi / 180)
        middle = profile.bend_factor(12.0, np.pi / 3)
        half_width = middle * profile.bend_half_width(12.0)
        factor = profile.bend_factor(at, angle) + say.generator.uniform(-half_width, half_width)
    else:
        factor = say.stated("installation", "factor", 1.0, 0.004, "", 1.0)
    return factor * say.stated("installation", "remounting", 1.0, 0.003, "", 1.0)


def _shown(say, path, times, zero):
    """What a meter shows in m3/h that was told of another pipe and of other sensors."""
    generator = say.generator
    _, layers, chord, sound_speed, traverses = path
    told_bore = chord * generator.uniform(0.97, 1.03)
    angle, speed = np.radians(generator.uniform(37.0, 41.0)), generator.uniform(2400.0, 2480.0)
    told = np.sin(angle) / speed
    told_factor = generator.uniform(0.92, 0.96)
    lines = [
        f'inside_diameter = "{told_bore * 1e3:.17g} mm"',
        f"profile_factor = {told_factor:.17g}",
        f'wedge_angle = "{np.degrees(angle):.17g} deg"',
        f'wedge_sound_speed = "{speed:.17g} m/s"',
    ]
    mean, difference = times
    # its dead time is the layers it was told of, crossed at the angle it was told of
    dead = sum(2 * e / (c * np.sqrt(1 - (told * c) ** 2)) for e, c in layers)
    if generator.random() < 0.5:
        lines.append('principle = "timed"')
        velocity = difference / (2 * told * (mean - dead))
    else:
        told_speed = sound_speed * generator.uniform(0.98, 1.02)
        lines += ['principle = "geometric"', f'liquid_sound_speed = "{told_speed:.17g} m/s"']
        sine = told * told_speed
        run = traverses * told_bore * sine / np.sqrt(1 - sine**2)
        velocity = difference * told_speed**2 / (2 * run)
    say.programmed = lines
    return 3600 * np.pi / 4 * told_bore**2 * (told_factor * velocity + zero)


def consistent(kind, seed):
    """A site of a kind, everything about it drawn as its file and the package state it."""
    return _world(kind, seed, np.ones(120))


def log(kind, seed):
    """The same with a flow that swings by 30 % and comes back, a row every minute for an hour."""
    return _world(kind, seed, 1 + 0.3 * np.sin(2 * np.pi * np.arange(61) / 60))


def _world(kind, seed, course):
    basis, liquid, pipe = kind.split(", ")
    generator = np.random.default_rng([seed, KINDS.index(kind)])
    say = Statements(generator)
    # downstream of a fitting, cross flow acts on a direct path
    choices = [2, 4] if pipe == "downstream of a bend" else [1, 2, 4]
    traverses = int(generator.choice(choices))
    bore, layers, roughness = _pipe(say, pipe)
    sound_speed, viscosity = _liquid(say, liquid)
    angle = say.stated("path", "wedge_angle", 39.0, 0.1, "deg", np.pi / 180)
    wedge_speed = say.stated("path", "wedge_sound_speed", 2440.0, 6.0, "m/s", 1.0)
    slowness = np.sin(angle) / wedge_speed
    calibration = say.stated("meter", "calibration_factor", 1.0, 0.003, "", 1.0)
    say.key("meter", "calibration_covers = []")
    if basis == "indicated":
        zero = say.stated("meter", "zero_velocity", 0.0, 1.0, "mm/s", 1e-3)
    else:
        zero = say.stated("meter", "zero_time_difference", 0.2, 0.3, "ns", 1e-9)
    delay = say.stated("meter", "electronics_delay", 0.5, 0.02, "us", 1e-6)
    delay += say.stated("meter", "wedge_delay", 15.0, 0.1, "us", 1e-6)
    installation = _installation(say, pipe)

    usual = float(np.exp(generator.uniform(np.log(0.6), np.log(4.0))))
    relative = roughness / bore
    doubts = profile.standard_uncertainties(usual * bore / viscosity, relative, bore)
    law, ratio = (1 + u * generator.standard_normal() for u in doubts)
    spacing = meter.spacing_at_rest(slowness, layers, bore, sound_speed, traverses)
    path = (spacing, layers, bore, sound_speed, traverses)

    def times_at(velocity):
        k = profile.factor(velocity * bore / viscosity, relative, ratio)
        return meter.times(*path, velocity / (calibration * installation * law * k))

    velocities, rows = np.unique(usual * course, return_inverse=True)
    mean, difference = np.array([times_at(velocity) for velocity in velocities])[rows].T
    memory = float(generator.choice([0.0, 0.6]))
    scatter = 1 + 0.01 * noise(generator, course.size, memory)
    if basis == "indicated":
        shown = _shown(say, path, (mean, difference * scatter), zero)
        noisy = {"volume_flow_m3_h": shown}
    else:
        noisy = {"time_difference_ns": 1e9 * (difference * scatter + zero)}
    if basis == "timed":
        jitter = 0.003 * noise(generator, course.size, memory)
        noisy["transit_time_us"] = 1e6 * (mean + delay) + jitter
    return World(
        kind=kind,
        site=say.text(basis=basis, traverses=traverses),
        readings=noisy,
        volume_flow=float(np.pi / 4 * bore**2 * usual),
        course=course,
    )
