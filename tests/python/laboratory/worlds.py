"""Worlds that are as their site files say: every truth is drawn from what is stated of it."""

from dataclasses import dataclass

import numpy as np
from scipy.optimize import brentq

from . import liquids, meter, pipes, profile, readings
from .statements import Statements

LIQUIDS = {
    "water": liquids.water,
    "hot water": liquids.hot_water,
    "sea water": liquids.sea_water,
    "stated liquid": liquids.stated,
    "viscous oil": liquids.oil,
    "glycol": liquids.glycol,
    "tabulated liquid": liquids.tabulated,
}
# of the outside diameter in mm
DIAMETERS = {"laminar": (20.0, 150.0), "transition": (20.0, 150.0), "up to Re 1e7": (600.0, 2500.0)}
# of the velocity on the path; elsewhere it is 0.6 to 4 m/s
REYNOLDS = {
    "laminar": (130.0, 1700.0),
    "transition": (1700.0, 5500.0),
    "up to Re 1e7": (1e6, 1e7),
}


@dataclass(frozen=True)
class Kind:
    """What a site is like."""

    basis: str
    liquid: str
    pipe: str
    flow: str = ""
    """"laminar", "transition" or "up to Re 1e7"."""
    mounting: str = ""
    """"by spacing" or "off the axis" where the angle of the wedges does not say all."""

    def __str__(self):
        return ", ".join(filter(None, vars(self).values()))


BASES = ("timed", "geometric", "indicated")
PIPES = ("bare", "lined", "painted", "downstream of a bend")
KINDS = (
    *(
        Kind(basis, liquid, pipe)
        for basis in BASES
        for liquid in ("water", "stated liquid")
        for pipe in PIPES
    ),
    *(Kind(basis, "water", "directly downstream of a bend") for basis in BASES),
    *(Kind(basis, "sea water", "bare") for basis in BASES),
    Kind("timed", "sea water", "lined"),
    *(Kind(basis, "glycol", "bare") for basis in BASES),
    *(Kind(basis, "tabulated liquid", "bare") for basis in BASES),
    Kind("geometric", "tabulated liquid", "painted"),
    *(Kind(basis, "viscous oil", "bare", "laminar") for basis in BASES),
    Kind("timed", "viscous oil", "lined", "laminar"),
    Kind("timed", "glycol", "bare", "laminar"),
    *(Kind(basis, "hot water", "bare", "up to Re 1e7") for basis in BASES),
    Kind("timed", "water", "bare", mounting="by spacing"),
    Kind("geometric", "stated liquid", "lined", mounting="by spacing"),
)
# where the first order cannot hold: a transition of which nothing is known, and a path that misses
# the axis, to whichever side
NONLINEAR = (
    *(Kind(basis, "viscous oil", "bare", "transition") for basis in BASES),
    *(Kind(basis, "water", "bare", mounting="off the axis") for basis in BASES),
)
ALL = (*KINDS, *NONLINEAR)


@dataclass
class World:
    """A site, the readings of its meter, and the flow that nobody knows."""

    kind: Kind
    site: str
    readings: dict
    volume_flow: float
    """In m3/s; of a log the usual one."""
    course: np.ndarray
    """The flow of each row over the usual one."""
    truths: dict
    """What is true of stated quantities, in the units of the file."""


def consistent(kind, seed):
    """A site of a kind, everything about it drawn as its file and the package state it."""
    return _world(kind, seed, np.ones(120))


def log(kind, seed):
    """The same with a flow that swings by 30 % and comes back, a row every minute for an hour."""
    return _world(kind, seed, 1 + 0.3 * np.sin(2 * np.pi * np.arange(61) / 60))


def _world(kind, seed, course):
    generator = np.random.default_rng([seed, ALL.index(kind)])
    place = Place(kind, generator)
    on_path = place.usual_velocity()
    relative = place.roughness / place.bore

    def developed(velocity, ratio=1.0, transition=profile.TRANSITION):
        reynolds = velocity * place.bore / place.viscosity
        return profile.factor(reynolds, relative, ratio, place.offset, transition)

    estimate = place.velocity(on_path, developed)
    u_law, u_friction = profile.standard_uncertainties(
        estimate * place.bore / place.viscosity, relative, place.bore
    )
    law = 1 + u_law * generator.standard_normal()
    ratio = 1 + u_friction * generator.standard_normal()
    transition = profile.drawn_transition(generator)

    def factor(velocity):
        return law * developed(velocity, ratio, transition)

    usual = place.velocity(on_path, factor)
    return World(
        kind=kind,
        readings=place.readings(usual * course, factor),
        site=place.text(),
        volume_flow=float(np.pi / 4 * place.bore**2 * usual),
        course=course,
        truths=place.say.truths,
    )


class Place:
    """Pipe, liquid, sensors and meter, all but the profile: what is stated, and the truth."""

    def __init__(self, kind, generator, *, scale=1.0, reynolds=None, relative_roughness=None):
        self.kind = kind
        self.say = say = Statements(generator, scale)
        say.key("site", 'name = "virtual"')
        # downstream of a fitting, cross flow acts on a direct path
        choices = {"downstream of a bend": [2, 4], "directly downstream of a bend": [1, 3]}
        self.traverses = int(generator.choice(choices.get(kind.pipe, [1, 2, 4])))
        say.key("path", f'basis = "{kind.basis}"\ntraverses = {self.traverses}')
        say.key("profile", 'law = "fitted"\nfriction = "colebrook"')
        diameters = DIAMETERS.get(kind.flow, (60.0, 900.0))
        self.bore, self.layers, self.roughness = pipes.drawn(
            say, kind.pipe, diameters, relative_roughness
        )
        if reynolds is None:
            liquid = LIQUIDS[kind.liquid](say)
        else:
            # a viscosity that leads there at a usual velocity
            nu = 1e6 * float(generator.uniform(0.6, 4.0)) * self.bore / reynolds
            liquid = liquids.stated(say, nu, nu)
        self.sound_speed, self.viscosity, self.density = liquid
        self.chord, self.offset = self.bore, 0.0
        if kind.mounting == "off the axis":
            u = 0.1e3 * self.bore
            away = say.stated("path", "chord_offset", 0.0, u, "mm", 1e-3, "rectangular")
            self.offset = 2 * abs(away) / self.bore
            self.chord = self.bore * np.sqrt(1 - self.offset**2)
        self.path = (self._spacing(), self.layers, self.chord, self.sound_speed, self.traverses)
        self.calibration = say.stated("meter", "calibration_factor", 1.0, 0.003, "", 1.0)
        say.key("meter", "calibration_covers = []")
        self.clock = 1.0
        if kind.basis == "indicated":
            self.zero = say.stated("meter", "zero_velocity", 0.0, 1.0, "mm/s", 1e-3)
        else:
            self.zero = say.stated("meter", "zero_time_difference", 0.2, 0.3, "ns", 1e-9)
            self.clock = readings.clock(say)
        delays = (("electronics_delay", 0.5, 0.02), ("wedge_delay", 15.0, 0.1))
        self.delay = sum(say.stated("meter", key, t, u, "us", 1e-6) for key, t, u in delays)
        self.installation = pipes.installation_factor(
            say, kind.pipe, self.traverses, np.arcsin(NOMINAL_SLOWNESS * self.sound_speed)
        )

    def _spacing(self):
        """Axial distance of the exit points of the sensors in m."""
        say, rest = self.say, (self.layers, self.chord, self.sound_speed, self.traverses)
        if self.kind.mounting == "by spacing":
            say.key("path", 'angle_from = "spacing"')
            about = 1e3 * meter.spacing_at_rest(NOMINAL_SLOWNESS, *rest)
            return say.stated("path", "spacing", about, 0.3 + 0.002 * about, "mm", 1e-3)
        angle = say.stated("path", "wedge_angle", 39.0, 0.1, "deg", np.pi / 180)
        speed = say.stated("path", "wedge_sound_speed", 2440.0, 6.0, "m/s", 1.0)
        return meter.spacing_at_rest(np.sin(angle) / speed, *rest)

    def usual_velocity(self):
        """Mean velocity on the path in m/s.

        Nothing is known of the flow but the reading, as JCGM 101 takes it, so readings are drawn
        evenly in their logarithm. Flows would not be the same: in the transition they change up to
        two and a half times as fast as readings.
        """
        low, high = 0.6, 4.0
        if self.kind.flow in REYNOLDS:
            low, high = (re * self.viscosity / self.bore for re in REYNOLDS[self.kind.flow])
        return float(np.exp(self.say.generator.uniform(np.log(low), np.log(high))))

    def velocity(self, on_path, factor):
        """Mean velocity in m/s that leads to one on the path with a factor of the profile."""
        factors = self.calibration * self.installation

        def excess(velocity):
            return velocity - factors * factor(velocity) * on_path

        return brentq(excess, 0.4 * on_path, 1.8 * on_path, xtol=1e-14, rtol=1e-14)

    def readings(self, velocities, factor):
        """Columns of the meter, a row for each mean velocity in m/s; `factor` is that of the
        profile at a velocity."""
        generator, rows = self.say.generator, len(velocities)

        def times_at(velocity):
            calibrated = self.calibration * self.installation * factor(velocity)
            return meter.times(*self.path, velocity / calibrated)

        each, place = np.unique(velocities, return_inverse=True)
        mean, difference = np.array([times_at(velocity) for velocity in each])[place].T
        kind = str(generator.choice(readings.NOISES))
        deviation, jitter = 0.01 * self.say.scale, 0.003 * self.say.scale
        scatter = deviation * readings.noise(generator, rows, kind)
        if self.kind.basis == "indicated":
            told = readings.Told(self.say, self.chord, self.sound_speed)
            shown = told.shows(self.path, (mean, difference), self.zero) * (1 + scatter)
            return {"volume_flow_m3_h": readings.rounded(shown, deviation * shown.mean(), kind)}
        told = 1e9 * (difference * (1 + scatter) / self.clock + self.zero)
        columns = {"time_difference_ns": readings.rounded(told, deviation * told.mean(), kind)}
        if self.kind.basis == "timed":
            told = 1e6 * (mean + self.delay) / self.clock
            told += jitter * readings.noise(generator, rows, kind)
            columns["transit_time_us"] = readings.rounded(told, jitter, kind)
        return columns

    def text(self):
        """The site file."""
        return self.say.text()


NOMINAL_SLOWNESS = np.sin(np.radians(39.0)) / 2440.0
