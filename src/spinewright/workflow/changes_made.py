"""Every change of bow and arrow since the recorded start, in words: knobs by their ledger, the rest by what differs."""

from __future__ import annotations

from collections.abc import Iterator

from spinewright.logbook import BenchState, MoveMade
from spinewright.workflow.build_words import bow_rows, part_rows
from spinewright.workflow.read_back import ledger_words
from spinewright.workflow.showing import Voice

__all__ = ["changes_made"]


def changes_made(state: BenchState) -> Iterator[str]:
    """One sentence a change, in order; what is kept in the ledger only (the sight) comes last."""
    told = set()
    for move in state.moves:
        entries = [entry for entry in state.ledger if entry.event == move.event]
        told.add(move.event)
        yield from (ledger_words(entry, state) for entry in entries)
        if not entries:
            yield _differs(move, Voice(state.scope.hand, state.scope.system))
    yield from (ledger_words(entry, state) for entry in state.ledger if entry.event not in told)


def _differs(move: MoveMade, voice: Voice) -> str:
    """What a change of parts, points, shafts or bow made different."""
    before, after = (
        dict([*part_rows(setup.build, voice), *bow_rows(setup, voice)]) for setup in (move.before, move.after)
    )
    changed = [
        f"{label} {after.get(label, 'none')} (before: {before.get(label, 'none')})"
        for label in {**before, **after}
        if before.get(label) != after.get(label)
    ]
    return f"{move.kind.capitalize()}: {'; '.join(changed) or 'nothing that is kept here differs'}."
