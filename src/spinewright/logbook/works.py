"""Work on the bow: what it changed, as far as its words and parts tell, and what is forgotten because of it, said."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from types import MappingProxyType

from spinewright.evidence.work import Changed
from spinewright.logbook import events as ev

__all__ = ["changed_by", "forgotten"]

_WORDS: Mapping[Changed, re.Pattern[str]] = MappingProxyType(
    {
        Changed.STRING: re.compile(
            r"string|cable|\bloops?\b|\bpeeps?\b|serving|nock(ing)? (point|set|height)|\btied?\b"
        ),
        Changed.CAM: re.compile(r"\bcams?\b|\bmodules?\b|\bmods?\b|\blimbs?\b(?! ?bolts?)|\briser\b"),
        Changed.REST: re.compile(r"\b(arrow ?)?rests?\b(?! of\b)"),
        Changed.WEIGHT: re.compile(r"\bweight\b|\bpoundage\b|limb ?bolts?|\bbolts?\b|\bweighed\b|\bpounds?\b|\blbs?\b"),
    }
)

#: As it stands in 'taken as ...'; what is forgotten of it; and what in part, as in the belief's own tables.
_SAID: Mapping[Changed, tuple[str, tuple[str, ...], tuple[str, ...]]] = MappingProxyType(
    {
        Changed.STRING: (
            "work on string and cables",
            ("nock height",),
            ("nock travel", "how the string pulls", "where the rest stands best"),
        ),
        Changed.CAM: (
            "other cams, modules or limbs",
            ("speed", "nock travel", "where the rest stands best"),
            ("nock height", "how the string pulls", "how the gap answers length, point and rest"),
        ),
        Changed.REST: (
            "another rest",
            ("where the rest stands best", "how the gap answers the rest", "what touches"),
            ("how the gap answers length and point",),
        ),
        Changed.WEIGHT: ("another peak weight", (), ("nock travel",)),
    }
)


def changed_by(event: ev.BowChanged) -> tuple[Changed, ...]:
    """What the work changed: the parts logged with it and those its words name.

    Work that names no part is taken as work on string and cables; where only numbers were taken (a weight, a draw
    curve), as another peak weight.
    """
    words = event.what.lower()
    found = {part for part, named in _WORDS.items() if named.search(words)}
    if event.rest is not None:
        found.add(Changed.REST)
    if event.string_mass is not None or event.on_string is not None:
        found.add(Changed.STRING)
    if not found:
        only_read = event.weighed is not None or event.curve is not None or event.let_off is not None
        found.add(Changed.WEIGHT if only_read else Changed.STRING)
    return tuple(part for part in _SAID if part in found)


def forgotten(changed: Sequence[Changed]) -> str:
    """One sentence: what of the things learnt is no longer taken as known, and what becomes of the shots before."""
    parts = [_SAID[part] for part in changed]
    wholly = tuple(dict.fromkeys(what for _, lost, _ in parts for what in lost))
    partly = tuple(dict.fromkeys(what for _, _, some in parts for what in some if what not in wholly))
    said = [f"forgotten is {_listed(wholly)}"] if wholly else []
    said += [f"partly forgotten is {_listed(partly)}"] if partly else []
    as_what = _listed([named for named, *_ in parts])
    return f"It is taken as {as_what}: {', '.join(said)}, and what was shot before counts with that much more doubt."


def _listed(parts: Sequence[str]) -> str:
    return parts[0] if len(parts) == 1 else f"{', '.join(parts[:-1])} and {parts[-1]}"
