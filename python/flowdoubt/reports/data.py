"""The parts of a report as plain data."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from flowdoubt.reports.blocks import Content


def plain_data(content: Content) -> dict[str, Any]:
    """Return a report as dictionaries and lists, each block with its kind."""
    data = asdict(content)
    for section, plain in zip(content.sections, data["sections"], strict=True):
        plain["blocks"] = [
            {"kind": type(block).__name__.lower(), **asdict(block)} for block in section.blocks
        ]
    return data
