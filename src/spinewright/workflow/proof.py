"""What the archer's own groups before and after show: the honest proof of a tune."""

from __future__ import annotations

from spinewright.evidence import Visit, compare
from spinewright.logbook import BenchState

__all__ = ["proof_of"]


def proof_of(state: BenchState) -> tuple[str, ...]:
    """The comparison of the proof groups in sentences; () while either is missing or too small."""
    comparison = compare([item.what for item in state.history.seen if isinstance(item.what, Visit)])
    return () if comparison is None else comparison.sentences
