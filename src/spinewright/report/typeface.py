"""The one type family of pictures, printed sheets and the page, as files that matplotlib and typst read.

``fonts`` holds the page's variable font at the two weights that are drawn (400, and the 640 of the page's headings),
cut from it with fonttools' instancer and named anew, so that no copy on a system, of another version, stands in for it.
Its licence lies beside it. Letters it has not (other scripts) come from DejaVu Sans, which matplotlib brings along.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from functools import lru_cache
from pathlib import Path
from threading import RLock

__all__ = ["FAMILY", "font_folders", "own_type"]

FAMILY = ("Spinewright Sans", "DejaVu Sans")
_FONTS = Path(__file__).parent / "fonts"
_DRAWING = RLock()


@contextmanager
def own_type() -> Iterator[None]:
    """What is drawn within is set in :data:`FAMILY`; one thread at a time, as matplotlib's settings are global."""
    import matplotlib as mpl

    with _DRAWING:
        _known_to_matplotlib()
        with mpl.rc_context({"font.family": list(FAMILY), "svg.hashsalt": "spinewright"}):
            yield


def font_folders() -> list[Path]:
    """Where the files of :data:`FAMILY` lie."""
    import matplotlib as mpl

    return [_FONTS, Path(mpl.get_data_path()) / "fonts" / "ttf"]


@lru_cache(maxsize=1)
def _known_to_matplotlib() -> None:
    from matplotlib.font_manager import fontManager

    for path in sorted(_FONTS.glob("*.ttf")):
        fontManager.addfont(path)
