"""The worked, invented bench that the page offers: everything in it is made up, and says so."""

from __future__ import annotations

from importlib import resources

__all__ = ["AT_WORK", "invented_session"]

AT_WORK = 18
"""Entries after which the invented archer is still at work: a change came otherwise than foretold, a move is left."""

_ENTRY = "[[event]]\n"


def invented_session(entries: int | None = None) -> str:
    """The text of its session file: all of it, or the first ``entries`` of what was done and seen."""
    whole = (resources.files("spinewright.workflow") / "benches" / "invented_bench.toml").read_text(encoding="utf-8")
    return whole if entries is None else _ENTRY.join(whole.split(_ENTRY)[: entries + 1])
