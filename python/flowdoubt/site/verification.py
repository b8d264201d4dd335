"""Verifications as users hold them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from flowdoubt import _core
from flowdoubt.display.verification import verification_file_html, verification_html

if TYPE_CHECKING:
    from flowdoubt._core import VerificationTrials
    from flowdoubt.site.record import Record


class Verification(_core.Verification):
    """Runs of a meter against a reference, as described by their file.

    Made by ``Verification.load`` or ``Verification.from_toml``.
    """

    def _repr_html_(self) -> str:
        return verification_file_html(self)


class VerificationResult(_core.VerificationResult):
    """The result of a verification, run by run and flow point by flow point.

    `Site.verify` makes it.
    """

    def record(self, trials: VerificationTrials | None = None) -> Record:
        """Return the record, with the trials where they were made.

        Parameters
        ----------
        trials
            Monte Carlo trials of the same verification, if there are any.

        Returns
        -------
        Record
            Inputs and results.

        Raises
        ------
        RangeError
            More trials than a record may have.

        Examples
        --------
        >>> import flowdoubt as fd
        >>> site = fd.Site.load("notebooks/demo/site.toml")
        >>> result = site.verify("notebooks/demo/verification.toml")
        >>> bool(result.record().reproduce())
        True
        """
        return _core.Record.of_verification(self, trials)

    def _repr_html_(self) -> str:
        return verification_html(self)
