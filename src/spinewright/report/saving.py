"""Writes a page as a PNG whose bytes depend on nothing but the page, old or new file complete at any moment."""

from __future__ import annotations

from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING

from spinewright.logbook.safe_write import put
from spinewright.report.style import as_written

if TYPE_CHECKING:
    from matplotlib.figure import Figure

__all__ = ["save_page"]


def save_page(page: Figure, path: Path) -> Path:
    """Draw ``page`` into ``path``; raises StoreError when the file system refuses, and nothing was changed then."""
    drawn = BytesIO()
    as_written(page)
    page.savefig(drawn, format="png", facecolor=page.get_facecolor(), metadata={"Software": None})
    put(path, drawn.getvalue())
    return path
