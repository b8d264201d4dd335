"""A virtual laboratory: sites whose truth is known, and the readings that a meter would give there.

Nothing here comes from the package but what ``calibration.py`` calls. The sound goes by its least
time through layers and moving liquid (``meter.py``), liquids are those of the packages `iapws`,
`gsw` and `CoolProp` (``liquids.py``), the profile is integrated from its eddy viscosity
(``profile.py``), meters have noise, clocks and wrong ideas of their pipe (``readings.py``). The
truth of every quantity is drawn as the files state it (``worlds.py``, ``verifications.py``) or is
measured (``measured.py``).
"""
