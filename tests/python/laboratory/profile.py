"""The profile factor of developed flow: the parabola, Cess's eddy viscosity, and their mixture.

The three constants are those that the package states of its default law; the tests hold the factor
against published profiles. What the package states of fittings and of uncertainties is written here
a second time.
"""

import numpy as np

NODES, WEIGHTS = np.polynomial.legendre.leggauss(200)
# von Karman's constant, damping length in wall units, level on the axis
FITTED = (0.422, 26.2, 0.243)
LAMINAR = 0.75
LEAST_TURBULENT = 1400.0
TRANSITION = 2350.0
TRANSITION_LIMITS = (1950.0, 3150.0)


def path_excess(friction_reynolds, offset=0.0, constants=FITTED):
    """Mean over a path less mean over the area, in friction velocities.

    ``offset`` is the distance of the path from the axis over the radius.
    """
    kappa, damping_length, on_axis = constants
    # nodes crowd at the wall, where the profile is steep
    stretch = np.log1p(friction_reynolds / 5)
    s = (NODES + 1) / 2
    from_wall = np.expm1(s * stretch) / np.expm1(stretch)
    step = stretch * np.exp(s * stretch) / np.expm1(stretch) * WEIGHTS / 2

    def viscosity_ratio(y):
        r = 1 - y
        damping = -np.expm1(-y * friction_reynolds / damping_length)
        core = on_axis + (1 - on_axis) * r**2
        outer = kappa * friction_reynolds * (1 - r**2) * core * damping
        return (1 + np.sqrt(1 + outer**2)) / 2

    # by parts, with the slope R+ r over the ratio of viscosities
    in_area = np.sum((1 - from_wall) ** 3 / viscosity_ratio(from_wall) * step)
    half_chord = np.sqrt(1 - offset**2)
    along = half_chord * (1 - from_wall)
    y = 1 - np.hypot(offset, along)
    on_path = np.sum(along**2 / viscosity_ratio(y) * step)
    return friction_reynolds * (on_path - in_area)


def friction_root(reynolds, roughness):
    """``1/sqrt(f)`` of Colebrook and White by iteration; roughness over diameter."""
    root = 7.0
    for _ in range(60):
        root = -2 * np.log10(roughness / 3.7 + 2.51 * root / reynolds)
    return root


def friction_velocity(reynolds, roughness, friction_ratio=1.0):
    """Over the mean velocity."""
    return np.sqrt(friction_ratio / 8) / friction_root(reynolds, roughness)


def intermittency(reynolds, transition):
    """Share of turbulent time; half at the Reynolds number `transition`."""
    x = np.clip(2 * np.log(reynolds / transition) + 0.5, 0, 1)
    return x**3 * (10 - 15 * x + 6 * x**2)


def turbulent_factor(reynolds, roughness, friction_ratio=1.0, offset=0.0, constants=FITTED):
    """Area mean over path mean of the velocity in turbulent flow."""
    velocity = friction_velocity(reynolds, roughness, friction_ratio)
    return 1 / (1 + velocity * path_excess(reynolds * velocity / 2, offset, constants))


def mixed(share, turbulent, offset=0.0):
    """The factor of flow that is turbulent for a share of the time: the path means mix."""
    return 1 / ((1 - share) * (1 - offset**2) / LAMINAR + share / turbulent)


def factor(reynolds, roughness, friction_ratio=1.0, offset=0.0, transition=TRANSITION):
    """Area mean over path mean of the velocity in whatever flow."""
    share = intermittency(reynolds, transition)
    if share == 0:
        return LAMINAR / (1 - offset**2)
    at_least = max(reynolds, LEAST_TURBULENT)
    return mixed(share, turbulent_factor(at_least, roughness, friction_ratio, offset), offset)


def drawn_transition(generator):
    """A Reynolds number of the transition: its density falls linearly from limit to limit."""
    low, high = TRANSITION_LIMITS
    return low + (high - low) * (1 - np.sqrt(generator.random()))


def standard_uncertainties(reynolds, roughness, bore, law=turbulent_factor):
    """Relative standard uncertainties that the package states of law and friction factor.

    The beam may be up to 20 mm wide, half of the bore at most, and laminar flow has developed over
    50 diameters. ``law`` gives the factor of turbulent flow.
    """
    share = intermittency(reynolds, TRANSITION)
    at = np.maximum(reynolds, LEAST_TURBULENT)
    velocity = friction_velocity(at, roughness)
    wall = roughness / 3.7
    rough = wall / (wall + 2.51 * friction_root(at, roughness) / at)
    low = 350 / (at * velocity / 2)
    excess = np.hypot(0.04 * np.hypot(1, low), 0.06 * rough)
    of_law = np.hypot(share * velocity * excess, (1 - share) / LAMINAR * 0.003)
    of_law *= mixed(share, law(at, roughness))
    beam = (1.7 * share * velocity + (1 - share) / 3) * np.minimum(0.02 / bore, 0.5) ** 2
    entrance = (1 - share) / 3 * np.exp(-np.log(50) * 50 / (0.06 * reynolds))
    of_law = np.sqrt(of_law**2 + (beam**2 + entrance**2) / 3)
    return of_law, np.hypot(0.024, 0.12 * 4 * rough * (1 - rough))


def bend_factor(straight_run, orientation):
    """True over undisturbed factor downstream of a single bend, as the package states it.

    The profile is ``(1 - r)^(1/7) + r (1 - r)^(1/4) (a + b cos 2t)``; its means over path and
    area follow by the beta function, and ``a`` and ``b`` decay over 3.6 diameters.
    """
    left = np.exp(-(straight_run - 1) / 3.6)
    flattening, lobes = 0.70 * left, -0.107 * left * np.cos(2 * orientation)
    on_path = 7 / 8 + (flattening + lobes) / (1.25 * 2.25)
    in_area = 49 / 60 + 4 * flattening / (1.25 * 2.25 * 3.25)
    return (7 / 8) / (49 / 60) * in_area / on_path


def bend_half_width(straight_run):
    """Relative half-width that the package states of it."""
    return 0.005 + 0.08 * np.exp(-(straight_run - 1) / 8)


def bend_cross_flow(straight_run, orientation):
    """Relative half-width of the cross flow on one traverse, times the tangent of the angle of the
    ray: one and a half times the mean of two cells along the path, which decay over 6 diameters."""
    cells = 0.12 * np.exp(-(straight_run - 1) / 6)
    return 1.5 * 2 / 3 * cells * abs(np.cos(orientation))
