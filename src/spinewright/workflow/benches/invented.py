"""The worked, invented bench that the page offers: everything in it is made up, and says so."""

from __future__ import annotations

from importlib import resources

__all__ = ["invented_session"]


def invented_session() -> str:
    """The text of its session file."""
    return (resources.files("spinewright.workflow") / "benches" / "invented_bench.toml").read_text(encoding="utf-8")
