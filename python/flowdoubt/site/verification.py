"""Verifications as users hold them."""

from __future__ import annotations

from flowdoubt import _core
from flowdoubt.display.verification import verification_file_html, verification_html


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

    def _repr_html_(self) -> str:
        return verification_html(self)
