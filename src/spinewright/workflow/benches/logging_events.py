"""Logs one event to a bench and reads it back, as the command line does; a cut has to be confirmed."""

from __future__ import annotations

from collections.abc import Mapping

from spinewright.units import System
from spinewright.workflow.benches.kept import Kept
from spinewright.workflow.benches.meaning import cut_confirm
from spinewright.workflow.benches.refusals import MustConfirm, Refused
from spinewright.workflow.benches.room import Benches
from spinewright.workflow.benches.view import view_of
from spinewright.workflow.session_log import LoggedEvent, logged
from spinewright.workflow.showing import Json

__all__ = ["log_to_bench", "read_for_bench"]

_MUST = "A cut cannot be undone; look at what it leaves, and say that you are sure."


def log_to_bench(
    benches: Benches,
    bench: str,
    event_id: str,
    event: Mapping[str, object],
    system: System | None,
    *,
    sure: bool = False,
) -> Json:
    """Add ``event`` and read it back. Raises MustConfirm for a cut that is not ``sure``, InputError, Refused, Taken."""

    def check(before: Kept, _after: Kept) -> None:
        if event.get("kind") == "cut" and not sure:
            raise MustConfirm(_MUST, cut_confirm(view_of(before, system), event))

    try:
        kept = benches.add_event(bench, event_id, event, check)
    except Refused:
        _refuse_in_units(benches, bench, event, system)
        raise
    return _said(kept, event_id, system)


def read_for_bench(benches: Benches, bench: str, event: Mapping[str, object], system: System | None) -> Json:
    """What ``event`` would be understood to say; nothing is saved. Raises InputError, Refused."""
    try:
        kept = benches.read_event(bench, event)
    except Refused:
        _refuse_in_units(benches, bench, event, system)
        raise
    said = _said(kept, "", system)
    return {"said": said["said"], "cautions": said["cautions"]}


def _refuse_in_units(benches: Benches, bench: str, event: Mapping[str, object], system: System | None) -> None:
    """Raise what was Refused once more in the units this device chose, where those are not the bench's own."""
    if system is not None and system is not benches.bench(bench).system:
        benches.read_event(bench, event, system)


def _said(kept: Kept, event_id: str, system: System | None) -> Json:
    view = view_of(kept, system)
    session, state = view.session, view.state
    if event_id and session.events[-1].id != event_id:  # sent again after others
        from dataclasses import replace

        from spinewright import logbook

        number = next(n for n, one in enumerate(session.events, 1) if one.id == event_id)
        session = replace(session, events=session.events[:number])
        state = logbook.replay(session)
    made: LoggedEvent = logged(session, state)
    return {
        "id": made.id,
        "kind": made.kind,
        "said": list(made.said),
        "cautions": list(made.cautions),
        "notices": list(made.notices),
    }
