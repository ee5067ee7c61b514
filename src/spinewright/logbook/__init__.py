"""Append-only events, replay, the session file. Knows nothing of the faces.

Here live the session file (reading, starting, adding an event so that nothing can be lost), the events in it, and the
replay that turns a session into the state of the bench with its ledger. Not here: what the evidence means
(``evidence``, ``belief``), what to do next (``advice``), or how any of it is shown.
"""

from __future__ import annotations

from spinewright.logbook.archer import LEVEL_SCATTER
from spinewright.logbook.event_keys import EVENT_HEAD, EVENTS
from spinewright.logbook.head import head_text
from spinewright.logbook.keys import ROOT, Key, SkillLevel
from spinewright.logbook.putting_back import put_back
from spinewright.logbook.replay import Replayed, replay, replay_each
from spinewright.logbook.session import FORMAT, Owned, OwnLimit, Scope, Session, StartMarks
from spinewright.logbook.session_file import append, create, event_text, new_id, parse, read
from spinewright.logbook.splitting import joined, split
from spinewright.logbook.state import BenchState, Knob, LedgerEntry, MoveMade
from spinewright.logbook.template import template

__all__ = [
    "EVENTS",
    "EVENT_HEAD",
    "FORMAT",
    "LEVEL_SCATTER",
    "ROOT",
    "BenchState",
    "Key",
    "Knob",
    "LedgerEntry",
    "MoveMade",
    "OwnLimit",
    "Owned",
    "Replayed",
    "Scope",
    "Session",
    "SkillLevel",
    "StartMarks",
    "append",
    "create",
    "event_text",
    "head_text",
    "joined",
    "new_id",
    "parse",
    "put_back",
    "read",
    "replay",
    "replay_each",
    "split",
    "template",
]
