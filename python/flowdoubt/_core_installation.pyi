"""Types of the part of the extension module on disturbed profiles."""

import numpy as np
from numpy.typing import NDArray

_Vector = NDArray[np.float64]

def installation(
    name: str,
    fitting: str,
    straight_run: _Vector,
    orientation: _Vector | None,
    planes: int,
) -> _Vector: ...
def cross_flow_half_width(
    fitting: str,
    straight_run: _Vector,
    orientation: _Vector | None,
    planes: int,
    traverses: int,
    angle_in_liquid: float | None,
) -> _Vector: ...
def path_error(
    fitting: str, straight_run: _Vector, orientation: _Vector, planes: int
) -> _Vector: ...
def disturbed_velocity(
    fitting: str, straight_run: float, radius: _Vector, angle: _Vector
) -> list[_Vector]: ...
def recommended_orientation(fitting: str) -> tuple[float | None, int, str]: ...
def straight_runs(fitting: str) -> tuple[float, float, float]: ...
def straight_run_caution(fitting: str, straight_run: float) -> str | None: ...
