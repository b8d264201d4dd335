"""Pipes of steel, iron and plastic, bare, lined or painted, and what lies upstream."""

import numpy as np

from . import profile


def drawn(say, pipe, diameters=(60.0, 900.0), relative_roughness=None):
    """State a pipe; its true bore in m, the layers that the ray crosses, and its roughness in m.

    ``diameters`` are the limits of the outside diameter in mm.
    """
    generator = say.generator
    diameter = float(np.exp(generator.uniform(*np.log(diameters))))
    # thin pipes have walls of a millimetre or two at least
    wall = max(1.5, diameter * generator.uniform(0.02, 0.05))
    outside = say.stated("pipe", "outside_diameter", diameter, 0.001 * diameter, "mm", 1e-3)
    if generator.random() < 0.5:
        thickness = say.stated("pipe", "wall", wall, 0.01 * wall, "mm", 1e-3)
    else:
        thickness = say.measured("pipe", "wall", wall, 0.01 * wall, "mm", 1e-3, 6)
    # from plastics and copper to steel, all of them slow enough for the ray to enter
    speed = generator.uniform(2150.0, 3250.0)
    wall_speed = say.stated("pipe", "wall_sound_speed", speed, 20.0, "m/s", 1.0)
    if relative_roughness is None:
        grain = float(np.exp(generator.uniform(np.log(0.005), np.log(min(0.3, 0.005 * diameter)))))
    else:
        grain = relative_roughness * (diameter - 2 * wall)
    roughness = say.stated("pipe", "roughness", grain, 0.2 * grain, "mm", 1e-3, "triangular")
    layers = [(thickness, wall_speed)]
    lined = 0.0
    if pipe == "lined":
        # from rubber to mortar
        liner = generator.uniform(0.5, min(8.0, 0.05 * diameter))
        speed = generator.uniform(1600.0, 3200.0)
        lined = say.stated("pipe", "liner", liner, 0.03 * liner, "mm", 1e-3)
        layers.append((lined, say.stated("pipe", "liner_sound_speed", speed, 40.0, "m/s", 1.0)))
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


STRAIGHT_RUN, ORIENTATION = 12.0, np.pi / 3


def installation_factor(say, pipe, traverses, angle_in_liquid):
    """True over undisturbed profile factor, with the effect of mounting the sensors.

    ``angle_in_liquid`` is that by the estimates, from the normal of the wall.
    """
    remounting = say.stated("installation", "remounting", 1.0, 0.003, "", 1.0)
    if "downstream of a bend" not in pipe:
        return remounting * say.stated("installation", "factor", 1.0, 0.004, "", 1.0)
    say.key("installation", 'fitting = "single_bend"')
    run = say.stated("installation", "straight_run", STRAIGHT_RUN, 0.3, "D", 1.0)
    degrees = np.degrees(ORIENTATION)
    angle = say.stated("installation", "orientation", degrees, 4.0, "deg", np.pi / 180)
    middle = profile.bend_factor(STRAIGHT_RUN, ORIENTATION)
    half_width = middle * profile.bend_half_width(STRAIGHT_RUN)
    factor = profile.bend_factor(run, angle) + say.generator.uniform(-half_width, half_width)
    if traverses % 2:
        crossing = profile.bend_cross_flow(STRAIGHT_RUN, ORIENTATION) / np.tan(angle_in_liquid)
        most = middle * crossing / traverses
        factor += say.generator.uniform(-most, most)
    return remounting * factor
