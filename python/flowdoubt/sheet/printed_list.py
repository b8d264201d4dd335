"""A list with boxes to tick as a PDF file of its own."""

from __future__ import annotations

import os

from flowdoubt.edge.errors import refuse
from flowdoubt.sheet.checklist import Checklist, checklist_pages
from flowdoubt.sheet.drawing import clean
from flowdoubt.sheet.pdf import pdf_of
from flowdoubt.sheet.tiles import page_of


def printed_list(checklist: Checklist, path: str | os.PathLike[str], paper: str) -> bytes:
    """Return the bytes of a list for a path, which must be that of a PDF."""
    suffix = os.path.splitext(path)[1].lower()
    if suffix != ".pdf":
        raise refuse(
            f"path: found the suffix `{suffix}`; allowed: .pdf",
            code="unknown-name",
            field="path",
            value=suffix,
            allowed=".pdf",
        )
    pages = checklist_pages(checklist, page_of(paper, upright=True))
    return pdf_of(pages, f"{checklist.title}: {clean(checklist.subject)}")
