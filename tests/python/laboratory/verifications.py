"""Verifications whose true errors are known: runs of a meter against references of every kind.

The runs of a verification share their site, their reference and its certificate; each has its own
flow, readings and indications of the reference. The sensors are mounted four times, so that the
spread of mountings has degrees of freedom enough to be drawn from.
"""

from dataclasses import dataclass

import numpy as np

from . import liquids, meter, pipes, profile, readings
from .statements import Statements, stated
from .worlds import NOMINAL_SLOWNESS

QUESTIONS = ("error as installed", "error of the meter", "agreement")
REFERENCES = ("master meter", "volumetric tank", "weighing")
KINDS = tuple(f"{question}, {reference}" for question in QUESTIONS for reference in REFERENCES)
POINTS = (0.8, 2.4)
"""Mean velocities in m/s."""
PLACEMENTS = ("A", "B", "C", "D")
RUNS = 2
"""Of each placement at each point."""
ROWS = 30
DURATION = 100.0
"""In s."""


@dataclass
class Verified:
    """A site, its verification and the readings of each run, with the true errors."""

    kind: str
    site: str
    verification: str
    readings: list
    errors: np.ndarray
    """True relative error of each point, as the question asks for it."""


def consistent(kind, seed):
    """A verification of a kind, everything about it drawn as its files and the package state it."""
    question, reference = kind.split(", ")
    generator = np.random.default_rng([seed, KINDS.index(kind), 22])
    return _Bench(question, reference, generator).verified()


class _Bench:
    """The pipe of the verification, its meter and its reference."""

    def __init__(self, question, reference, generator):
        self.question, self.reference, self.generator = question, reference, generator
        self.say = say = Statements(generator)
        say.key("site", 'name = "virtual"')
        say.key("path", 'basis = "indicated"\ntraverses = 2')
        say.key("profile", 'law = "fitted"\nfriction = "colebrook"')
        self.bore, self.layers, self.roughness = pipes.drawn(say, "bare", (100.0, 400.0))
        say.key("liquid", 'kind = "water"')
        celsius = generator.uniform(10.0, 40.0)
        self.temperature = say.stated("liquid", "temperature", celsius, 0.1, "degC", 1) + 273.15
        self.pressure = say.stated("liquid", "absolute_pressure", 4.0, 0.1, "bar", 1e5)
        state = liquids.water_at(self.temperature, self.pressure)
        self.sound_speed, self.viscosity, self.density = liquids.as_wrong_as_stated(
            say, liquids.WATER, *state
        )
        # what is known of the sensors is in their calibration
        say.key("path", 'wedge_angle = "39 deg"\nwedge_sound_speed = "2440 m/s"')
        self.calibration = say.stated("meter", "calibration_factor", 1.0, 0.004, "", 1.0)
        say.key("meter", 'calibration_covers = ["sensors", "electronics"]')
        self.zero = say.stated("meter", "zero_velocity", 0.0, 1.0, "mm/s", 1e-3)
        self.installation = say.stated("installation", "factor", 1.0, 0.003, "", 1.0)
        say.key("installation", 'remounting = { value = "1", standard_uncertainty = "0.3 %" }')
        mounted = 1 + 0.003 * generator.standard_normal(len(PLACEMENTS))
        self.mounted = dict(zip(PLACEMENTS, mounted, strict=True))
        self.law, self.friction = generator.standard_normal(2)
        at_rest = (self.layers, self.bore, self.sound_speed, 2)
        self.path = (meter.spacing_at_rest(NOMINAL_SLOWNESS, *at_rest), *at_rest)
        self.told = readings.Told(say, self.bore, self.sound_speed)

    def factor(self, velocity):
        """Of the profile at a mean velocity in m/s."""
        reynolds, relative = velocity * self.bore / self.viscosity, self.roughness / self.bore
        u_law, u_friction = profile.standard_uncertainties(reynolds, relative, self.bore)
        ratio = 1 + u_friction * self.friction
        return (1 + u_law * self.law) * profile.factor(reynolds, relative, ratio)

    def shown(self, velocity, mounted):
        """What the meter shows in m3/h where its readings do not scatter."""
        true = self.calibration * self.installation * mounted * self.factor(velocity)
        times = meter.times(*self.path, velocity / true)
        return self.told.shows(self.path, times, self.zero)

    def error(self, velocity):
        """The true relative error at a point."""
        if self.question == "agreement":
            return 0.0
        if self.question == "error as installed":
            # of the usual mounting
            area = np.pi / 4 * self.bore**2
            return self.shown(velocity, 1.0) / (3600 * area * velocity) - 1
        # the meter computes with a calibration factor of one, and with the profile at the flow
        # that it computes
        computed = velocity
        for _ in range(20):
            computed = velocity * self.factor(computed) / self.factor(velocity) / self.calibration
        return computed / velocity - 1

    def verified(self):
        """All runs."""
        generator = self.generator
        lines = ['[verification]\nname = "virtual"', f'question = "{self.question}"']
        shown = "shown by the meter" if self.question == "error as installed" else ""
        lines += [f'indicated = "{shown}"'] * bool(shown)
        lines += ['repeatability = "pooled"', f'[reference]\nkind = "{self.reference}"']
        reference = _REFERENCES[self.reference](self, lines)
        all_readings = []
        for number, usual in enumerate(POINTS):
            certificate = reference.point(lines, number)
            for placement in PLACEMENTS:
                for _ in range(RUNS):
                    velocity = usual * (1 + 0.01 * generator.standard_normal())
                    # what repeats badly from run to run
                    repeated = 1 + 0.001 * generator.standard_normal()
                    mean = self.shown(velocity, self.mounted[placement]) * repeated
                    rows = mean * (1 + 0.003 * generator.standard_normal(ROWS))
                    all_readings.append(rows)
                    lines.append(f'[[run]]\npoint = "{number}"\nplacement = "{placement}"')
                    lines.append(f'readings = "{len(all_readings)}.csv"')
                    volume = DURATION * velocity * np.pi / 4 * self.bore**2
                    lines += reference.run(volume, certificate)
        return Verified(
            kind=f"{self.question}, {self.reference}",
            site=self.say.text(),
            verification="\n".join(lines) + "\n",
            readings=all_readings,
            errors=np.array([self.error(usual) for usual in POINTS]),
        )


class _Reference:
    """A reference whose certificate has one factor for all runs."""

    def __init__(self, bench, lines):
        self.bench, self.lines = bench, lines
        self.calibration = self.shared("calibration_factor", 1.0, 0.001, "")

    def shared(self, key, estimate, u, unit):
        """State what all runs share; a truth in the same unit."""
        line, truth = stated(self.bench.generator, estimate, u, unit)
        self.lines.append(f"{key} = {line}")
        return truth

    def point(self, lines, number):
        """State what the runs of a point share."""

    def indication(self, key, truth, u, unit):
        """What an instrument shows of a truth, with its own rectangular error in each run."""
        shown = truth + self.bench.generator.uniform(-1, 1) * u * 3**0.5
        half_width = f'half_width = "{u * 3**0.5:.12g} {unit}", shape = "rectangular"'
        return f'{key} = {{ value = "{shown:.15g} {unit}", {half_width} }}'

    def duration(self, truth=DURATION):
        return self.indication("duration", truth, 0.03, "s")


class _MasterMeter(_Reference):
    def point(self, lines, number):
        line, error = stated(self.bench.generator, 0.05, 0.05, "%")
        lines.append(f'[[point]]\nname = "{number}"\nerror = {line}')
        return error / 100

    def run(self, volume, error):
        indicated = volume * (1 + error) / self.calibration
        return [self.indication("volume", indicated, 2e-4 * volume, "m3"), self.duration()]


class _Tank(_Reference):
    """An open tank whose volume grows with its temperature, which is not that of the pipe."""

    def __init__(self, bench, lines):
        super().__init__(bench, lines)
        lines.append('start = "standing"')
        self.expansion = self.shared("tank_expansion", 50.0, 3.0, "ppm/K") * 1e-6
        self.lost = self.shared("start_stop_volume", 0.5, 0.3, "L") * 1e-3
        self.temperature = bench.temperature - 1.5
        *_, in_tank = liquids.water_at(self.temperature, liquids.ATMOSPHERE)
        *_, in_pipe = liquids.water_at(bench.temperature, bench.pressure)
        growth = (1 + self.expansion * (self.temperature - 293.15)) ** 3
        self.held = in_pipe / in_tank / growth / self.calibration

    def run(self, volume, _):
        indicated = self.held * (volume + self.lost)
        return [
            self.indication("volume", indicated, 2e-4 * volume, "m3"),
            self.indication("temperature", self.temperature - 273.15, 0.1, "degC"),
            self.duration(),
        ]


class _Scale(_Reference):
    def __init__(self, bench, lines):
        super().__init__(bench, lines)
        lines.append('start = "flying"')
        self.air = self.shared("air_density", 1.19, 0.02, "kg/m3")
        self.weights = self.shared("weight_density", 8000.0, 50.0, "kg/m3")
        self.diverter = self.shared("diverter_error", 15.0, 8.0, "ms") * 1e-3

    def run(self, volume, _):
        density = self.bench.density
        buoyancy = (1 - self.air / self.weights) / (1 - self.air / density)
        indicated = volume * density / buoyancy / self.calibration
        before = self.bench.generator.uniform(50.0, 100.0)
        u = 1e-4 * volume * density
        return [
            self.indication("mass_start", before, u, "kg"),
            self.indication("mass_end", before + indicated, u, "kg"),
            self.duration(DURATION + self.diverter),
        ]


_REFERENCES = {"master meter": _MasterMeter, "volumetric tank": _Tank, "weighing": _Scale}
