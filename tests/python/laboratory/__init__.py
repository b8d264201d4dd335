"""A virtual laboratory: sites whose truth is known, and the readings that a meter would give there.

Nothing here comes from the package. The sound goes by its least time through layers and moving
liquid (``meter.py``), the liquid is that of the package `iapws`, the profile is integrated from its
eddy viscosity (``profile.py``), and the truth of every quantity is drawn as the site file states it
(``worlds.py``).
"""
