"""Worlds whose profile factor was measured or simulated, and is not that of a law.

Three groups. *Held out*: 22 profiles of smooth pipes to which the default law of the package is
fitted, one source after the other held out. The package has one fit only, that to all of them, so
the truth is the measured factor times the factor of that fit over the one of the fit without the
source: what the package is wrong by is then what the fit without the source would be wrong by.
*Never fitted*: a simulation next to the transition and five pipes of 1911, as measured.
*Transition*: shares of turbulent time from measured friction, whose own error of some 0.1 is taken
for truth; from the same measurements the package has its limits of the transition, so these are not
held out.
"""

import json
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from . import profile
from .worlds import BASES, Kind, Place, World

TESTS = Path(__file__).parents[2]
LEAST_FITTED = 15e3
"""Reynolds number below which the law is not fitted."""
GROUPS = ("held out", "never fitted", "transition")

# T. E. Stanton, Proc. R. Soc. A 85 (1911) 366, integrated: source, Reynolds number, area mean over
# path mean, relative roughness; that of the rough pipes comes from the profiles themselves, so that
# these two test the shape alone
PIPES_OF_1911 = (
    ("stanton_1911 rough, 5.08 cm", 4.0e4, 0.9011, 0.011),
    ("stanton_1911 rough, 7.35 cm", 8.2e4, 0.8971, 0.015),
    ("stanton_1911 smooth, 4.93 cm", 4.2e4, 0.9273, 0.0),
    ("stanton_1911 smooth, 7.40 cm", 4.2e4, 0.9275, 0.0),
    ("stanton_1911 smooth, 7.40 cm", 9.2e4, 0.9325, 0.0),
)


@dataclass(frozen=True)
class Measured:
    """A profile factor at a Reynolds number."""

    group: str
    source: str
    reynolds: float
    factor: float
    relative_roughness: float = 0.0


def _read(path):
    return json.loads((TESTS / path).read_text())


def _constants(fit):
    return tuple(fit[name] for name in ("kappa", "damping_length", "on_axis"))


def factors():
    """All of them."""
    fits = _read("golden/profile_fit.json")
    all_sources = _constants(fits["constants"])
    for row in _read("published/pipe_profiles.json")["profiles"]:
        source, reynolds, k = row["set"], row["Re"], row["k"]
        if reynolds < LEAST_FITTED:
            yield Measured("never fitted", source, reynolds, k)
            continue
        others = _constants(fits["held_out"][source]["constants"])
        by_all, by_others = (
            profile.turbulent_factor(reynolds, 0.0, constants=constants)
            for constants in (all_sources, others)
        )
        yield Measured("held out", source, reynolds, k * by_all / by_others)
    for source, reynolds, k, roughness in PIPES_OF_1911:
        yield Measured("never fitted", source, reynolds, k, roughness)
    for row in _read("published/pipe_friction.json")["transition"]:
        reynolds, f = row["Re"], row["f"]
        laminar, turbulent = 64 / reynolds, 0.3164 / reynolds**0.25
        share = np.clip((f - laminar) / (turbulent - laminar), 0, 1)
        k = profile.turbulent_factor(max(reynolds, profile.LEAST_TURBULENT), 0.0)
        yield Measured("transition", row["set"], reynolds, profile.mixed(share, k))


def world(measured, seed, scale=1.0):
    """A site in which the flow has a measured profile; all other uncertainties are multiplied by
    ``scale``, and the truth is drawn accordingly."""
    generator = np.random.default_rng([seed, round(measured.reynolds), len(measured.source)])
    basis = BASES[seed % len(BASES)]
    flow = "up to Re 1e7" if measured.reynolds > 1e6 else ""
    place = Place(
        Kind(basis, "stated liquid", "bare", flow),
        generator,
        scale=scale,
        reynolds=measured.reynolds,
        relative_roughness=measured.relative_roughness,
    )
    velocity = measured.reynolds * place.viscosity / place.bore
    readings = place.readings(np.full(120, velocity), lambda _: measured.factor)
    return World(
        kind=f"{measured.group}, {measured.source}",
        site=place.text(),
        readings=readings,
        volume_flow=float(np.pi / 4 * place.bore**2 * velocity),
        course=np.ones(120),
        truths=place.say.truths,
    )
