"""The profile factor of fully developed turbulent flow, integrated from Cess's eddy viscosity.

The three constants are those that the package states of its default law; the tests hold the factor
against published profiles.
"""

import numpy as np

NODES, WEIGHTS = np.polynomial.legendre.leggauss(200)


def path_excess(friction_reynolds):
    """Mean over a diameter less mean over the area, in friction velocities."""
    # nodes crowd at the wall, where the profile is steep
    stretch = np.log1p(friction_reynolds / 5)
    s = (NODES + 1) / 2
    y = np.expm1(s * stretch) / np.expm1(stretch)
    dy = stretch * np.exp(s * stretch) / np.expm1(stretch) * WEIGHTS / 2
    r = 1 - y
    damping = -np.expm1(-y * friction_reynolds / 26.2)
    outer = 0.422 * friction_reynolds * (1 - r**2) * (0.243 + 0.757 * r**2) * damping
    viscosity_ratio = (1 + np.sqrt(1 + outer**2)) / 2
    return friction_reynolds * np.sum(r**2 * y / viscosity_ratio * dy)


def friction_factor(reynolds, roughness):
    """Colebrook and White by iteration; roughness over diameter."""
    root = 7.0
    for _ in range(60):
        root = -2 * np.log10(roughness / 3.7 + 2.51 * root / reynolds)
    return root**-2


def factor(reynolds, roughness, friction_ratio=1.0):
    """Area mean over path mean of the velocity."""
    velocity = np.sqrt(friction_ratio * friction_factor(reynolds, roughness) / 8)
    return 1 / (1 + velocity * path_excess(reynolds * velocity / 2))


def standard_uncertainties(reynolds, roughness, bore):
    """Relative standard uncertainties that the package states of law and friction factor."""
    f = friction_factor(reynolds, roughness)
    velocity = np.sqrt(f / 8)
    wall = roughness / 3.7
    rough = wall / (wall + 2.51 / (reynolds * np.sqrt(f)))
    low = 350 / (reynolds * velocity / 2)
    excess = np.hypot(0.04 * np.hypot(1, low), 0.06 * rough)
    law = factor(reynolds, roughness) * velocity * excess
    beam = 1.7 * velocity * (0.02 / bore) ** 2
    return np.hypot(law, beam / np.sqrt(3)), np.hypot(0.024, 0.12 * 4 * rough * (1 - rough))


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
