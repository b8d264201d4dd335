"""What a meter makes of transit times: noise of several kinds, its clock, what it was told."""

import numpy as np

NOISES = ("white", "correlated", "damped", "rounded")
WINDOW = 5


def noise(generator, rows, kind):
    """Noise of unit standard deviation; rounded noise is white until `rounded` has rounded it."""
    if kind == "damped":
        values = generator.standard_normal(rows + WINDOW - 1)
        return np.convolve(values, np.ones(WINDOW) / WINDOW**0.5, mode="valid")
    values = generator.standard_normal(rows)
    memory = 0.6 if kind == "correlated" else 0.0
    for i in range(1, rows):
        values[i] = memory * values[i - 1] + (1 - memory**2) ** 0.5 * values[i]
    return values


def rounded(values, digit, kind):
    """Values as a display with that last digit shows them, where the kind of noise asks for it."""
    return np.round(values / digit) * digit if kind == "rounded" else values


def clock(say):
    """State the clock of a meter; the time that passes over the time that it tells."""
    if say.generator.random() < 0.5:
        return 1.0
    off = say.generator.uniform(0.999, 1.001)
    return say.stated("meter", "time_base", off, 5e-4, "", 1.0)


class Told:
    """What a meter was told of pipe and sensors, all of it wrong."""

    def __init__(self, say, chord, sound_speed):
        generator = say.generator
        self.bore = chord * generator.uniform(0.97, 1.03)
        angle, speed = np.radians(generator.uniform(37.0, 41.0)), generator.uniform(2400.0, 2480.0)
        self.slowness = np.sin(angle) / speed
        self.factor = generator.uniform(0.92, 0.96)
        lines = [
            f'inside_diameter = "{self.bore * 1e3:.17g} mm"',
            f"profile_factor = {self.factor:.17g}",
            f'wedge_angle = "{np.degrees(angle):.17g} deg"',
            f'wedge_sound_speed = "{speed:.17g} m/s"',
        ]
        self.is_timed = generator.random() < 0.5
        if self.is_timed:
            lines.append('principle = "timed"')
        else:
            self.sound_speed = sound_speed * generator.uniform(0.98, 1.02)
            told = f'liquid_sound_speed = "{self.sound_speed:.17g} m/s"'
            lines += ['principle = "geometric"', told]
        say.key("meter.programmed", "\n".join(lines))

    def shows(self, path, times, zero):
        """The flow in m3/h for the mean of the transit times and their difference in s, and for a
        zero velocity in m/s."""
        _, layers, _, _, traverses = path
        mean, difference = times
        if self.is_timed:
            # its dead time is the layers it was told of, crossed at the angle it was told of
            cosines = [np.sqrt(1 - (self.slowness * c) ** 2) for _, c in layers]
            dead = sum(2 * e / (c * cos) for (e, c), cos in zip(layers, cosines, strict=True))
            velocity = difference / (2 * self.slowness * (mean - dead))
        else:
            sine = self.slowness * self.sound_speed
            run = traverses * self.bore * sine / np.sqrt(1 - sine**2)
            velocity = difference * self.sound_speed**2 / (2 * run)
        return 3600 * np.pi / 4 * self.bore**2 * (self.factor * velocity + zero)
