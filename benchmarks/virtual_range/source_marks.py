"""Short digests of the source that records came from, so that old records are never taken for new ones."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from functools import lru_cache
from pathlib import Path

import spinewright

__all__ = ["hand_mark", "source_mark"]

_HERE = Path(__file__).parent
_PRODUCT = Path(spinewright.__file__).parent
#: What a record of the hand rule hangs on; of the product only what describes equipment.
_BY_HAND = ("bench", "hand_rule", "hunt", "playing", "reachable", "reading")
#: What only writes about records.
_AFTERWARDS = (
    "__main__",
    "bolts_back",
    "campaign",
    "glance",
    "pictures",
    "proof",
    "source_marks",
    "stories",
    "summing",
    "tables",
)


@lru_cache(maxsize=1)
def source_mark() -> str:
    """Of the whole product, the worlds and both players: for records with the adviser in them."""
    range_ = (path for path in _HERE.rglob("*.py") if path.stem not in _AFTERWARDS)
    return _digest([*_PRODUCT.rglob("*.py"), *range_])


@lru_cache(maxsize=1)
def hand_mark() -> str:
    """Of the worlds, the hand rule and the harness: its records stay good when belief or advice change."""
    return _digest(
        [
            *(_PRODUCT / "equipment").rglob("*.py"),
            *(_HERE / "world").rglob("*.py"),
            *(_HERE / f"{name}.py" for name in _BY_HAND),
        ]
    )


def _digest(paths: Iterable[Path]) -> str:
    digest = hashlib.sha256()
    for path in sorted(paths):
        digest.update(path.name.encode() + path.read_bytes())
    return digest.hexdigest()[:12]
