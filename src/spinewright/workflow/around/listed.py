"""Reads the CSV file a person names, whole and as text."""

from __future__ import annotations

from pathlib import Path

from spinewright.errors import InputError, Place, StoreError
from spinewright.workflow.around.answers import MOST_TEXT

__all__ = ["list_text"]


def list_text(path: str | Path, question: str) -> str:
    """The text of the file at ``path``. Raises InputError when it is not text or too large, StoreError when it cannot
    be opened."""
    path = Path(path)
    try:
        with path.open("rb") as file:
            raw = file.read(4 * MOST_TEXT + 1)
    except OSError as error:
        raise StoreError(f"{path} could not be read ({error.strerror or error}).") from error
    place = Place(file=str(path), field=question)
    if len(raw) > 4 * MOST_TEXT:
        raise InputError("the file is too large", f"at most {MOST_TEXT} characters", place)
    for encoding in ("utf-8-sig", "utf-16") if raw[:2] in (b"\xff\xfe", b"\xfe\xff") else ("utf-8-sig",):
        try:
            return raw.decode(encoding)
        except UnicodeDecodeError:
            continue
    raise InputError("the file is not text in UTF-8", "save it again as CSV in UTF-8", place)
