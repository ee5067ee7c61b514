"""Where the benches are kept; light, so that it can be told without opening anything."""

from __future__ import annotations

import os
import re
from pathlib import Path

__all__ = ["STORE_NAME", "bench_folder", "is_address", "named_store", "without_password"]

STORE_NAME = "benches.sqlite"
"""The file in that folder."""


def named_store() -> str | None:
    """The folder or the server's address that SPINEWRIGHT_STORE names, or None."""
    return os.environ.get("SPINEWRIGHT_STORE") or None


def is_address(named: str) -> bool:
    """Whether a store's name is a server's address, not a folder."""
    return "://" in named


def without_password(address: str) -> str:
    """A server's address as it may be shown: without the password and what stands behind a question mark."""
    return re.sub(r"://([^:/@]*):.*@", r"://\1:...@", address, flags=re.DOTALL).partition("?")[0]


def bench_folder() -> Path:
    """The folder of the benches where the platform wants a person's data; SPINEWRIGHT_STORE names another."""
    import platformdirs

    named = named_store()
    if named and not is_address(named):
        return Path(named)
    return Path(platformdirs.user_data_dir("spinewright", appauthor=False))
