"""Transit times through a pipe in which the liquid moves, by least time."""

import numpy as np
from scipy.optimize import brentq


def spacing_at_rest(slowness, layers, chord, sound_speed, traverses):
    """Axial distance in m of the exit points of wedges whose ray has that axial slowness."""
    run = 2 * sum(e * slowness * c / np.sqrt(1 - (slowness * c) ** 2) for e, c in layers)
    sine = slowness * sound_speed
    return run + traverses * chord * sine / np.sqrt(1 - sine**2)


def transit_time(spacing, layers, chord, sound_speed, traverses, velocity):
    """Least time from exit point to exit point, in s, with the sound carried along by the liquid.

    The wave normal in the liquid stands at an angle ``phi``. Along the pipe all media share one
    slowness, ``sin(phi)/(c + v sin(phi))``; the sound goes where wave and flow together carry it.
    """

    def run_and_time(phi):
        slowness = np.sin(phi) / (sound_speed + velocity * np.sin(phi))
        crossing = chord / (sound_speed * np.cos(phi))
        run = traverses * crossing * (sound_speed * np.sin(phi) + velocity)
        time = traverses * crossing
        for thickness, speed in layers:
            cosine = np.sqrt(1 - (slowness * speed) ** 2)
            run += 2 * thickness * slowness * speed / cosine
            time += 2 * thickness / (speed * cosine)
        return run, time

    fastest = max([sound_speed, *(c for _, c in layers)])
    # total reflection in the fastest medium ends the search
    most = np.arcsin(min(1.0, sound_speed / (fastest - velocity)) * (1 - 1e-9))
    phi = brentq(lambda phi: run_and_time(phi)[0] - spacing, -0.2, most, xtol=1e-15, rtol=1e-15)
    return run_and_time(phi)[1]


def times(spacing, layers, chord, sound_speed, traverses, velocity):
    """Mean of the transit times with and against the flow, and their difference, in s."""
    path = (spacing, layers, chord, sound_speed, traverses)
    down, up = (transit_time(*path, sign * velocity) for sign in (1, -1))
    return (down + up) / 2, up - down
