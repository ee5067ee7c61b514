"""Writes a page as a PNG whose bytes depend on nothing but the page, old or new file complete at any moment."""

from __future__ import annotations

import os
from contextlib import suppress
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING

from spinewright.errors import StoreError
from spinewright.report.style import as_written

if TYPE_CHECKING:
    from matplotlib.figure import Figure

__all__ = ["save_page"]


def save_page(page: Figure, path: Path) -> Path:
    """Draw ``page`` into ``path``; raises StoreError when the file system refuses, and nothing was changed then."""
    drawn = BytesIO()
    as_written(page)
    page.savefig(drawn, format="png", facecolor=page.get_facecolor(), metadata={"Software": None})
    part = path.with_name(f".{path.name}.{os.getpid()}.part")
    try:
        part.write_bytes(drawn.getvalue())
        part.replace(path)
    except OSError as error:
        with suppress(OSError):
            part.unlink()
        raise StoreError(f"{path} could not be written ({error.strerror or error}); nothing was changed.") from error
    return path
