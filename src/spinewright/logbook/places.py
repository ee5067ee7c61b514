"""Where the benches are kept; light, so that it can be told without opening anything."""

from __future__ import annotations

import os
from pathlib import Path

__all__ = ["STORE_NAME", "bench_folder"]

STORE_NAME = "benches.sqlite"
"""The file in that folder."""


def bench_folder() -> Path:
    """The folder of the benches where the platform wants a person's data; SPINEWRIGHT_STORE names another."""
    import platformdirs

    named = os.environ.get("SPINEWRIGHT_STORE")
    return Path(named) if named else Path(platformdirs.user_data_dir("spinewright", appauthor=False))
