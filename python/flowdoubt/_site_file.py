"""What a site file says: reading it, and what can be told of it without readings."""

from __future__ import annotations

import os
from typing import Any, Self

from flowdoubt import _flowdoubt
from flowdoubt._errors import file_path, refuse


class SiteFile:
    """A site file that was read; `Site` does with it what takes readings or plans."""

    STARTER = _flowdoubt.Site.STARTER
    """The text of a site file to begin with: usual keys, comments, values to be replaced."""

    @staticmethod
    def starter(basis: str = "timed", liquid: str = "water") -> str:
        """Return the text of a site file to begin with, for a basis and a liquid.

        It is evaluated as it stands, with values that stand for those of the user.

        Parameters
        ----------
        basis
            ``"timed"``, ``"geometric"`` or ``"indicated"``.
        liquid
            ``"water"``, ``"sea water"``, ``"ethylene glycol"``, ``"propylene glycol"`` or
            ``"stated"``.

        Raises
        ------
        InputError
            Another name.

        Examples
        --------
        >>> import flowdoubt as fd
        >>> fd.Site.from_toml(fd.Site.starter("indicated", "sea water")).choices[2]
        ('basis', 'indicated')
        """
        return _flowdoubt.Site.starter_for(basis, liquid)

    def __init__(self, core: _flowdoubt.Site) -> None:
        if not isinstance(core, _flowdoubt.Site):
            raise refuse(
                f"Site: found {core!r}; allowed: Site.load(path) for a file, Site.from_toml(text) "
                "for the text of one",
                code="wrong-type",
                field="Site",
                value=core,
                allowed="Site.load(path), Site.from_toml(text)",
            )
        self._core = core

    @classmethod
    def load(cls, path: str | os.PathLike[str]) -> Self:
        """Read a site file.

        Raises
        ------
        FlowdoubtError
            Anything wrong in the file, with file, line, what was found and what is allowed.

        Examples
        --------
        >>> import flowdoubt as fd
        >>> fd.Site.load("notebooks/demo/site.toml").name
        'Harrowmere district cooling, plant 2, supply main'
        """
        return cls(_flowdoubt.Site.load(file_path("path", path)))

    @classmethod
    def from_toml(cls, text: str) -> Self:
        """Read a site from the text of a site file."""
        return cls(_flowdoubt.Site.from_toml(text))

    @property
    def name(self) -> str:
        """The name of the site."""
        return self._core.name

    @property
    def note(self) -> str:
        """Remarks in words."""
        return self._core.note

    @property
    def text(self) -> str:
        """The text of the site file."""
        return self._core.text

    @property
    def coverage_probability(self) -> float:
        """The coverage probability at which expanded uncertainties are stated."""
        return self._core.coverage_probability

    @property
    def choices(self) -> list[tuple[str, str]]:
        """What the file chooses rather than measures, as pairs of a heading and words."""
        return self._core.choices

    @property
    def stated(self) -> list[dict[str, str]]:
        """What the file states of each input, rounded for people; a data frame takes it as it is.

        Examples
        --------
        >>> import flowdoubt as fd
        >>> stated = fd.Site.load("notebooks/demo/site.toml").stated
        >>> (wall,) = (line for line in stated if line["input"] == "pipe.wall")
        >>> wall["input"], wall["estimate"], wall["standard_uncertainty"], wall["unit"]
        ('pipe.wall', '8.767', '0.015', 'mm')
        """
        return self._core.stated

    @property
    def path_layout(self) -> dict[str, Any] | None:
        """The sound path to draw it to scale, in SI units, as far as the file alone tells it.

        None where it takes readings, such as those of the temperature, or is not known;
        ``evaluation.path_layout`` has it with the readings. ``ray_m`` has the corners of the ray,
        shape ``(n, 2)``: axial position from the first exit point and height over the axis.
        """
        return self._core.path_layout
