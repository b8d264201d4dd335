"""Where the sensors go on the pipe, and the sheet that marks it."""

from __future__ import annotations

import os
from dataclasses import dataclass, field
from typing import Any

from flowdoubt import _flowdoubt
from flowdoubt._errors import refuse
from flowdoubt._flowdoubt import Budget


@dataclass(frozen=True, repr=False)
class MarkOut:
    """Where the sensors of a site go: `Site.mark_out` makes it. All numbers are in SI units.

    Lengths along the pipe are between the exit points, where the ray leaves each sensor.
    """

    site: str
    """The name of the site."""
    site_digest: str
    """SHA-256 of the text of the site file."""
    software: str
    """Name and version of what computed it."""
    traverses: int
    """Number of traverses."""
    direct: bool
    """Whether the sensors sit on opposite sides; else both are on one line along the pipe."""
    angle_from: str
    """What determines the angle of the ray: ``"wedge"`` or ``"spacing"``."""
    spacing_m: float
    """Axial spacing of the exit points, in m."""
    spacing_standard_uncertainty_m: float
    """Its standard uncertainty, in m."""
    placed_spacing_m: float | None
    """The spacing that the site file states as placed, in m."""
    circumference_m: float
    """Circumference on the outside of the pipe, over whatever coating the tape was on, in m."""
    circumference_standard_uncertainty_m: float
    """Its standard uncertainty, in m."""
    half_circumference_m: float
    """Half the circumference, in m."""
    half_circumference_standard_uncertainty_m: float
    """Its standard uncertainty, in m."""
    offset_round_pipe_m: float
    """Distance round the pipe between the sensors in m: half the circumference of a direct path,
    zero of a reflected one."""
    sensor_length_m: float | None
    """Length of one sensor along the pipe in m, where the site file states it."""
    gap_m: float | None
    """Room between two sensors on one side in m, exit points in their middle; negative where they
    overlap."""
    outside_diameter_m: float
    """Outside diameter in m, the mean of largest and smallest."""
    wall_and_lining_m: float
    """Wall with all that lines it, in m."""
    inside_diameter_m: float
    """Inside diameter in m, that of the circle of the same area."""
    liquid_temperature_k: float | None
    """Temperature of the liquid in K, unless its properties are stated."""
    liquid_sound_speed_m_s: float
    """Sound speed of the liquid, in m/s."""
    angle_in_wall_rad: float
    """Angle of the ray in the wall from its normal, in rad."""
    angle_in_liquid_rad: float
    """Angle of the ray in the liquid, in rad."""
    axial_sensitivity_from_spacing_per_m: float | None
    """Relative change of the flow in 1/m when the same readings come from sensors farther apart and
    the ray follows from the spacing; a tenth of it is in percent per millimetre."""
    axial_sensitivity_from_wedge_per_m: float | None
    """The same where the wedge determines the angle: zero in a wide beam, which loses signal and
    not flow. None where nothing is stated of the wedge."""
    warnings: tuple[tuple[str, str], ...]
    """Code and words of what must be known before the sensors are mounted."""
    advice: tuple[str, ...]
    """What common practice says of mounting them."""
    _core: _flowdoubt.MarkOut = field(repr=False, compare=False)

    @classmethod
    def _of(cls, core: _flowdoubt.MarkOut) -> MarkOut:
        values = core.to_dict()
        values["warnings"] = tuple((w["code"], w["words"]) for w in values["warnings"])
        values["advice"] = tuple(values["advice"])
        return cls(**values, _core=core)

    @property
    def sensors_overlap(self) -> bool | None:
        """Whether two sensors on one side overlap; None where that cannot be told or not happen."""
        return None if self.gap_m is None else self.gap_m < 0.0

    @property
    def spacing_budget(self) -> Budget:
        """The uncertainty budget of the axial spacing."""
        return self._core.spacing_budget

    @property
    def half_circumference_budget(self) -> Budget:
        """The uncertainty budget of the half circumference."""
        return self._core.half_circumference_budget

    @property
    def lines(self) -> list[tuple[str, str, str]]:
        """Every number for people: words, text in mm, text in inches (decimal and to 1/32)."""
        return self._core.lines

    @property
    def in_words(self) -> str:
        """The mark-out as text, in both systems of units."""
        return self._core.in_words

    def flow_change(
        self, *, axial_m: float = 0.0, round_pipe_m: float = 0.0, angle_from: str | None = None
    ) -> float:
        """Return what a placement error costs: the relative change of the flow.

        Parameters
        ----------
        axial_m
            How much farther apart the sensors sit than the evaluation takes, in m.
        round_pipe_m
            How far one of them is too far round the outside of the pipe, in m.
        angle_from
            ``"wedge"`` or ``"spacing"``; that of the site if not given.

        Returns
        -------
        float
            Flow of the same readings with the sensors where they sit, over that with the sensors
            where they belong, less one.

        Raises
        ------
        RangeError
            Sensors in the same place or beyond; more than a quarter of the circumference; a path
            farther from the axis than 0.7 of the radius.
        InputError
            An unknown `angle_from`, or ``"wedge"`` where nothing is stated of the wedge.

        Examples
        --------
        >>> import flowdoubt as fd
        >>> mark_out = fd.Site.load("notebooks/demo/site.toml").mark_out(temperature="8 degC")
        >>> round(100 * mark_out.flow_change(axial_m=1e-3, angle_from="spacing"), 2)
        -0.2
        >>> mark_out.flow_change(axial_m=1e-3)  # the wedge of the site has a wide beam
        0.0
        """
        return self._core.flow_change(angle_from, axial_m, round_pipe_m)

    def to_dict(self) -> dict[str, Any]:
        """Return every number in SI units by name, as JSON has them."""
        return dict(self._core.to_dict())

    def svg(self) -> str:
        """Return the whole sheet as SVG at 1:1, one unit a millimetre, for a plotter or a screen.

        Examples
        --------
        >>> import flowdoubt as fd
        >>> mark_out = fd.Site.load("notebooks/demo/site.toml").mark_out(temperature="8 degC")
        >>> mark_out.svg().startswith("<svg")
        True
        """
        from flowdoubt._sheet.svg import svg_of
        from flowdoubt._sheet.wrap import whole_sheet

        return svg_of(whole_sheet(self), self._title)

    def sheet(
        self,
        path: str | os.PathLike[str],
        paper: str = "A4",
        *,
        tiles: str | None = None,
        overwrite: bool = False,
    ) -> None:
        """Write the sheet to print and wrap round the pipe, at 1:1.

        The same site gives the same bytes. PDF needs matplotlib.

        Parameters
        ----------
        path
            A file that ends in ``.pdf`` (a page of numbers and instructions, then the sheet in
            pages) or ``.svg`` (the whole sheet in one piece, for a plotter).
        paper
            ``"A4"``, ``"A3"`` or ``"Letter"``, for PDF.
        tiles
            ``"strips"`` prints what lies round the marks, and a tape joins it; ``"all"`` prints the
            whole sheet in pages to be pasted. If not given, all of a sheet that takes two pages or
            fewer, else strips.
        overwrite
            Whether a file that exists may be replaced. It is written whole or not at all.

        Raises
        ------
        RecordError
            A file that exists and may not be replaced.
        InputError
            Another suffix, unknown paper or tiles, a folder that cannot be written in, PDF without
            matplotlib.
        RangeError
            A sheet of more than 200 pages.

        Examples
        --------
        >>> import tempfile, pathlib, flowdoubt as fd
        >>> mark_out = fd.Site.load("notebooks/demo/site.toml").mark_out(temperature="8 degC")
        >>> folder = tempfile.TemporaryDirectory()
        >>> mark_out.sheet(pathlib.Path(folder.name) / "sheet.svg")
        >>> folder.cleanup()
        """
        suffix = os.path.splitext(path)[1].lower()
        if suffix == ".svg":
            content = self.svg().encode()
        elif suffix == ".pdf":
            from flowdoubt._sheet.pages import printed_pages
            from flowdoubt._sheet.pdf import pdf_of
            from flowdoubt._sheet.tiles import page_of, tiling
            from flowdoubt._sheet.wrap import Places

            chosen = tiling(Places.of(self), paper, tiles)
            pages = printed_pages(self, chosen, page_of(paper, upright=True))
            content = pdf_of(pages, self._title)
        else:
            raise refuse(
                f"path: found the suffix `{suffix}`; allowed: .pdf, .svg",
                code="unknown-name",
                field="path",
                value=suffix,
                allowed=".pdf, .svg",
            )
        _flowdoubt.write_whole(path, content, overwrite)

    @property
    def _title(self) -> str:
        from flowdoubt._sheet.drawing import clean

        return f"Mark-out sheet: {clean(self.site)}"

    def __repr__(self) -> str:
        path = "direct" if self.direct else "reflected"
        return (
            f"<MarkOut of {self.site!r}: spacing {1e3 * self.spacing_m:.1f} mm, {path} path, "
            f"half circumference {1e3 * self.half_circumference_m:.1f} mm>"
        )

    def __str__(self) -> str:
        return self.in_words

    def _repr_html_(self) -> str:
        from flowdoubt._display import mark_out_html

        return mark_out_html(self)
