"""What the bench page sends, whole and spoilt, and benches for it to be sent to."""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Mapping
from datetime import date
from functools import lru_cache
from typing import Any

from hypothesis import strategies as st

from soak.bad_input.edits import every_event, good_sessions
from spinewright.logbook.head import KEYS
from spinewright.workflow.around.register import TASKS
from spinewright.workflow.benches import Benches
from spinewright.workflow.benches.starting import make_bench
from spinewright.workflow.benches.tasks import TASKS as LONG

__all__ = ["bodies_for", "good_benches", "places", "spoiled"]

_BENCHES: dict[str, Any] = {"bdemo": {"from": "demo"}, "bquick": {"from": "quick", "values": {"scope.hand": "left"}}}
_IDS = ("e1", "e2", "e3", "t1", "t2", "t3", "ewalk")
_TAP: dict[str, Any] = {
    "walk": {
        "kind": "shots",
        "distance": "20 yd",
        "target": "fresh foam",
        "square": None,
        "purpose": None,
        "when": None,
    },
    "tap": {"shaft": 5, "state": "bare", "x": 0.031, "y": -0.012, "lean_x": 0.035, "lean_y": None, "bad": False},
}
_VALUES = {"bow.name": "x", "bow.peak_weight": "61 lb", "owned.points": ["100 gr"], "shaft.spine": "355"}

#: Values that JSON can hold and no page sends.
ODD: tuple[object, ...] = (
    None, True, 0, -1, 10**400, 1e308, -1e308, 5e-324, float("nan"), float("inf"), "", " ", "\ud800", "\udfff left",
    "\x00", "\x1b[2J", "\u202e1 in", "<script>x</script>", "=1+1", "../../x", "x" * 5000, "9" * 400 + " in",
    "left " + "9" * 400, "{{ 1 }}", "'; drop table x", [], {}, [[]], {"": ""}, [None], "2026-13-01",
    "0001-01-01T00:00:00+23:59", "last", [1] * 300, "@deep",
)  # fmt: skip


def good_benches(benches: Benches) -> None:
    """The benches that requests go to; all of them invented."""
    from spinewright.units import System

    for name, body in _BENCHES.items():
        make_bench(benches, name, body, System.INCH)


def places(choice: int, given: Mapping[str, Any]) -> dict[str, Any]:
    """Path parameters that exist, for most choices; {} leaves what is ``given``."""
    if choice == 0:
        return {}
    known: dict[str, Any] = {
        "bench": tuple(_BENCHES)[choice % len(_BENCHES)],
        "event": _IDS[choice % len(_IDS)],
        "walk": ("ewalk", "ewalk2")[choice % 2],
        "tap": _IDS[choice % len(_IDS)],
        "what": [*LONG, *(f"around-{name}" for name in TASKS)][choice % (len(LONG) + len(TASKS))],
        "task": list(TASKS)[choice % len(TASKS)],
        "page": ("line", "story", "setup", "meaning", "nock", "paper", "around", "checks", "map")[choice % 9],
        "number": choice,
    }
    return {name: known[name] for name in given if name in known}


@lru_cache(maxsize=1)
def _events() -> tuple[dict[str, Any], ...]:
    return tuple(_as_json(tomllib.loads("\n".join(lines))["event"][0]) for lines in every_event())


def _as_json(value: Any) -> Any:  # noqa: ANN401 - whatever TOML has
    if isinstance(value, dict):
        return {name: _as_json(one) for name, one in value.items()}
    if isinstance(value, list):
        return [_as_json(one) for one in value]
    return value.isoformat() if isinstance(value, date) else value


def _files() -> tuple[Any, ...]:
    from_file = {"from": "file", "text": "\n".join(good_sessions()[0]), "name": "x.toml"}
    return (*_BENCHES.values(), from_file, {"from": "setup", "values": _VALUES})


_WISHES = ({"bows": 40}, {"given": {"limit": ["x, 2026-01-01"]}}, {"distance": "20 yd", "face": "x"}, {"which": "now"})
#: Bodies as pages send them, by how the path ends.
_GOOD: Mapping[str, Callable[[], tuple[Any, ...]]] = {
    "/events/{event}": lambda: tuple({"event": one, "sure": True, "when": None} for one in _events()),
    "/read": lambda: tuple({"event": one} for one in _events()),
    "/taps/{tap}": lambda: (_TAP, {**_TAP, "tap": {**_TAP["tap"], "state": "fletched", "gone": True}}),
    "/benches/{bench}": _files,
    "/setup": lambda: ({"values": _VALUES}, {"values": dict.fromkeys(KEYS, "1 in")}),
    "/drawing": lambda: ({"values": _VALUES, "paste": "20 in: 61 lb\n21 in 62"},),
    "/ask/{what}": lambda: _WISHES,
    "/close": lambda: ({},),
    "/name": lambda: ({"name": "x"},),
    "/units": lambda: ({"units": "metric"},),
}


def bodies_for(path: str) -> st.SearchStrategy[Any] | None:
    """Bodies as pages send them to ``path``, most of them spoilt in one or more places; None where none is sent."""
    good = next((made() for ends, made in _GOOD.items() if path.endswith(ends)), ())
    none: st.SearchStrategy[list[int]] = st.just([])
    choices = none | st.lists(st.integers(0, 255), min_size=3, max_size=9)
    return st.builds(spoiled, st.sampled_from(good), choices) if good else None


def spoiled(body: Any, choices: list[int]) -> Any:  # noqa: ANN401 - JSON in, JSON out
    """``body`` with a place for every three ``choices`` changed: which way down, what is done there, and with what."""
    for way, kind, odd in zip(choices[::3], choices[1::3], choices[2::3], strict=False):
        chosen = ODD[odd % len(ODD)]
        body = _changed(body, way, kind, _deep() if chosen == "@deep" else chosen)
    return body


def _deep() -> object:
    """As deep as JSON is read at all, but for a few levels."""
    value: object = "x"
    for _ in range(900):
        value = [value]
    return value


def _changed(value: Any, way: int, kind: int, odd: object) -> Any:  # noqa: ANN401
    inside = (
        list(value.items()) if isinstance(value, dict) else list(enumerate(value)) if isinstance(value, list) else []
    )
    if not inside or kind % 8 == 7:
        return odd
    name, one = inside[way % len(inside)]
    if isinstance(value, dict) and kind % 8 == 6:
        return {other: kept for other, kept in value.items() if other != name}
    if isinstance(value, dict) and kind % 8 == 5:
        return {**value, str(odd): odd}
    deeper = _changed(one, way // 2, kind, odd) if isinstance(one, dict | list) else odd
    if isinstance(value, dict):
        return {**value, name: deeper}
    return [deeper if n == name else kept for n, kept in enumerate(value)]
