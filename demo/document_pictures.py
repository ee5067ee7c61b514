"""Makes the pictures of the README again from those that the demo drew: narrower, few colours, small files."""

from __future__ import annotations

import sys
from pathlib import Path

from spinewright.cli.printing import say

__all__ = ["main", "shrink"]

_NAMES = ("forgiveness-map.png", "build-sheet.png", "holes-first.png", "holes-last.png")
_WIDTH = 560  # pixels; the text is still read easily beside a page of words
_COLOURS = 256


def shrink(picture: Path, path: Path) -> Path:
    """Writes ``picture`` to ``path`` at ``_WIDTH`` pixels and returns it."""
    from PIL import Image

    with Image.open(picture) as opened:
        height = round(opened.height * _WIDTH / opened.width)
        small = opened.convert("RGB").resize((_WIDTH, height), Image.Resampling.LANCZOS)
    path.parent.mkdir(parents=True, exist_ok=True)
    small.quantize(_COLOURS, kmeans=1).save(path, optimize=True)
    return path


def main(drawn: Path = Path("out"), folder: Path = Path("docs/pictures")) -> int:
    """Shrinks the pictures in ``drawn`` into ``folder``; returns 1 when the demo has not drawn them yet."""
    missing = [name for name in _NAMES if not (drawn / name).is_file()]
    if missing:
        say([f"{', '.join(missing)} not in {drawn}: run 'make demo' first"])
        return 1
    say(str(shrink(drawn / name, folder / name)) for name in _NAMES)
    return 0


if __name__ == "__main__":
    sys.exit(main())
