"""Where the sensors go on the pipe, and the sheet that marks it."""

from __future__ import annotations

import os
from collections.abc import Sequence
from typing import TYPE_CHECKING

from flowdoubt import _core
from flowdoubt.display.mark_out import mark_out_html
from flowdoubt.edge.errors import refuse

if TYPE_CHECKING:
    from flowdoubt.site.commissioning import Commissioning
    from flowdoubt.site.kit import KitList


class MarkOut(_core.MarkOut):
    """Where the sensors of a site go: `Site.mark_out` makes it. All numbers are in SI units.

    Lengths along the pipe are between the exit points, where the ray leaves each sensor.
    """

    def svg(self) -> str:
        """Return the whole sheet as SVG at 1:1, one unit a millimetre, for a plotter or a screen.

        Returns
        -------
        str
            The drawing.

        Examples
        --------
        >>> import flowdoubt as fd
        >>> mark_out = fd.Site.load("notebooks/demo/site.toml").mark_out(temperature="8 degC")
        >>> mark_out.svg().startswith("<svg")
        True
        """
        from flowdoubt.sheet.svg import svg_of
        from flowdoubt.sheet.wrap import whole_sheet

        return svg_of(whole_sheet(self), self._title)

    def sheet(
        self,
        path: str | os.PathLike[str],
        paper: str = "A4",
        *,
        tiles: str | None = None,
        lists: Sequence[KitList | Commissioning] = (),
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
        lists
            What to take and what to do, as `Site.kit` and `Site.commissioning` make them: lists
            with boxes to tick, in pages after those of the sheet. For PDF.
        overwrite
            Whether a file that exists may be replaced. It is written whole or not at all.

        Raises
        ------
        RecordError
            A file that exists and may not be replaced.
        InputError
            Another suffix, lists with SVG, unknown paper or tiles, a folder that cannot be written
            in, PDF without matplotlib.
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
        if suffix == ".svg" and lists:
            raise refuse(
                "lists: found with .svg, which has one page; allowed: with .pdf",
                code="conflict",
                field="lists",
                allowed="with .pdf",
            )
        if suffix == ".svg":
            content = self.svg().encode()
        elif suffix == ".pdf":
            from flowdoubt.sheet.checklist import checklist_pages
            from flowdoubt.sheet.pages import printed_pages
            from flowdoubt.sheet.pdf import pdf_of
            from flowdoubt.sheet.tiles import page_of, tiling
            from flowdoubt.sheet.wrap import Places

            chosen = tiling(Places.of(self), paper, tiles)
            page = page_of(paper, upright=True)
            pages = printed_pages(self, chosen, page)
            for one in lists:
                pages.extend(checklist_pages(one._checklist(), page))
            content = pdf_of(pages, self._title)
        else:
            raise refuse(
                f"path: found the suffix `{suffix}`; allowed: .pdf, .svg",
                code="unknown-name",
                field="path",
                value=suffix,
                allowed=".pdf, .svg",
            )
        _core.write_whole(path, content, overwrite)

    @property
    def _title(self) -> str:
        from flowdoubt.sheet.drawing import clean

        return f"Mark-out sheet: {clean(self.site)}"

    def _repr_html_(self) -> str:
        return mark_out_html(self)
