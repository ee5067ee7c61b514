"""A logbook as ten years of a workshop would leave it: many bows, each with its walks, tears, checks and changes."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import numpy as np
from numpy.random import Generator
from sqlalchemy import insert

from spinewright.logbook import event_text
from spinewright.logbook.head import head_text
from spinewright.logbook.places import STORE_NAME
from spinewright.logbook.store import EventRow, HeadRow, NewBench, open_store
from spinewright.logbook.store.opening import engine_for
from spinewright.logbook.store.tables import answers as kept_answers
from spinewright.logbook.store.tables import taps
from spinewright.units import Hand, System
from spinewright.workflow.benches.starting import quick_values
from spinewright.workflow.benches.walks import Walk, tap_from, walk_event
from spinewright.workflow.showing import Json

__all__ = ["Bow", "Walked", "build", "drawn_bows", "event_rows", "head_row", "walked"]

_FIRST_DAY = datetime(2016, 4, 2, 9, 30)  # INVENTED, like everything here
_DAYS = 3650.0
_ARROWS = 6  # of a walk
_UNEVEN = 0.8  # scatter of the logarithm of how much a bow is shot: the busiest of 200 has some eight times the mean
_FROM_FILES = 4  # one bow in so many came as a session file, the others were tapped in
_KINDS = ("tear", "rest moved", "bow check", "contact check", "flex check", "bow changed", "sight moved", "undo")


@dataclass(frozen=True, slots=True)
class Bow:
    """An invented bow: its bench's id, its name, whose hand, how many walks, how wide it shoots [m], if tapped in."""

    id: str
    name: str
    hand: Hand
    walks: int
    scatter: float
    tapped: bool

    @property
    def shots(self) -> int:
        """Arrows shot at a target."""
        return self.walks * _ARROWS


@dataclass(frozen=True, slots=True)
class Walked:
    """One walk: when, and what a page sends of each of its taps, by the tap's id."""

    id: str
    when: datetime
    taps: Mapping[str, Mapping[str, Any]]


def drawn_bows(bows: int, shots: int, rng: Generator) -> list[Bow]:
    """``bows`` of them that were shot ``shots`` times together, some much and some little."""
    share = rng.lognormal(0.0, _UNEVEN, bows)
    walks = np.maximum(1, np.rint(share / share.sum() * shots / _ARROWS)).astype(int)
    walks[walks.argmax()] += max(-(-shots // _ARROWS) - int(walks.sum()), 0)
    return [
        Bow(
            f"byears{n}",
            f"invented bow {n}",
            Hand.RIGHT if n % 9 else Hand.LEFT,
            int(one),
            float(rng.uniform(0.01, 0.06)),
            n % _FROM_FILES > 0,
        )
        for n, one in enumerate(walks)
    ]


def build(folder: Path, bows: list[Bow], rng: Generator, answer: Json | None = None, answers: int = 0) -> None:
    """The logbook of ``bows`` in ``folder``; each has ``answers`` times the same ``answer`` to 'next' over its years.

    Benches are made by the store's own function; taps and answers are inserted in bulk, as the rows they leave.
    """
    store = open_store(folder)
    engine = engine_for(folder / STORE_NAME)
    try:
        for bow in bows:
            walks = list(walked(bow, rng))
            events = tuple(event_rows(walks, rng))
            store.make(NewBench(bow.id, bow.name, True, head_row(bow), events))
            with engine.connect().execution_options(writes=True) as connection, connection.begin():
                if bow.tapped:
                    connection.execute(insert(taps), _tap_rows(bow, walks))
                if answer is not None:
                    connection.execute(insert(kept_answers), _answer_rows(bow, len(events), answer, answers))
    finally:
        engine.dispose()
        store.close()


def head_row(bow: Bow) -> HeadRow:
    """The recorded start."""
    values, assumed = quick_values({"scope.hand": str(bow.hand), "bow.name": bow.name}, System.INCH)
    return HeadRow(head_text(values), assumed)


def walked(bow: Bow, rng: Generator) -> Iterator[Walked]:
    """Every walk, three in four to fletched arrows alone and one to two fletched and four bare."""
    for number in range(bow.walks):
        when = _FIRST_DAY + timedelta(days=_DAYS * number / bow.walks)
        bare = _ARROWS - 2 if number % 4 == 0 else 0
        about = {"kind": "shots", "distance": "20 yd", "target": "fresh foam", "when": when.isoformat()}
        taps = {}
        for one in range(_ARROWS):
            state, off = ("bare", 0.03) if one < bare else ("fletched", 0.0)
            x, y = (float(v) for v in rng.normal(off, bow.scatter, 2).round(4))
            lean = round(float(rng.normal(0.0, 0.03)), 3) if state == "bare" else None
            tap = {"shaft": one + 1, "state": state, "x": x, "y": y, "lean_x": lean, "lean_y": None}
            taps[f"t{number}-{one}"] = {"walk": about, "tap": tap}
        yield Walked(f"w{number}", when, taps)


def event_rows(walks: list[Walked], rng: Generator) -> Iterator[EventRow]:
    """Everything that was logged of a bow, in order: its walks, and after some of them what was seen or changed."""
    for number, one in enumerate(walks):
        walk = Walk(one.id)
        for tap, body in one.taps.items():
            walk = walk.with_tap(tap, tap_from(body))
        yield EventRow(one.id, event_text(walk_event(walk, System.INCH, one.when)))
        if number % 3 == 2:
            made = _in_between(number // 3, rng)
            event = f"e{number}"
            undoes = {"undoes": f"e{number - 3}"} if made["kind"] == "undo" else {}
            yield EventRow(event, event_text({**made, **undoes, "id": event, "when": one.when + timedelta(minutes=20)}))


def _in_between(number: int, rng: Generator) -> dict[str, object]:
    kind = _KINDS[number % len(_KINDS)]
    way = ("left", "right")[number // len(_KINDS) % 2]
    what: Mapping[str, dict[str, object]] = {
        "tear": {"shaft": 1, "state": "bare", "distance": "6 ft", "tail": f"{way} {rng.uniform(0.1, 1.0):.2f} in"},
        "rest moved": {"clicks": f"{way} 2", "measured": f"{way} 0.004 in"},
        "bow check": {"cam_timing": True, "nock_fit": True, "centre_shot": True, "weighed": "60 lb"},
        "contact check": {"vanes": True, "launcher": True, "cables": True, "shelf": True},
        "flex check": {"shaft": 1 + number % _ARROWS, "sound": True},
        "bow changed": {"what": "new string, same marks", "weighed": "60 lb"},
        "sight moved": {"clicks": f"{way} 3"},
        "undo": {},
    }
    return {"kind": kind, **what[kind]}


def _tap_rows(bow: Bow, walks: list[Walked]) -> list[dict[str, str]]:
    return [
        {
            "bench": bow.id,
            "walk": one.id,
            "tap": tap,
            "body": json.dumps(tap_from(body)),
            "saved": one.when.replace(tzinfo=UTC).isoformat(timespec="microseconds"),
        }
        for one in walks
        for tap, body in one.taps.items()
    ]


def _answer_rows(bow: Bow, events: int, answer: Json, many: int) -> list[dict[str, object]]:
    rows: list[dict[str, object]] = []
    for number in range(1, many + 1):
        after = events * number // many
        told = {"fingerprint": "", "events": after, "wishes": {}, "body": answer}
        saved = _FIRST_DAY + timedelta(days=_DAYS * number / many)
        rows.append(
            {
                "bench": bow.id,
                "what": "next",
                "revision": after,
                "body": json.dumps(told),
                "saved": saved.replace(tzinfo=UTC).isoformat(timespec="microseconds"),
            }
        )
    return rows
