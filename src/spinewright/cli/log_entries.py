"""Turns the options of an entry into the event a person would have written in the file by hand."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date, datetime
from types import MappingProxyType
from typing import cast

from spinewright.errors import EvidenceError, InputError, Place
from spinewright.evidence.checks import BOW_ITEMS, CONTACT_ITEMS
from spinewright.logbook import EVENTS, Key
from spinewright.workflow import phrases

__all__ = ["event_from"]

Options = dict[str, object]


def event_from(kind: str, options: Mapping[str, object]) -> Options:
    """The event of ``kind`` from what was said; options left out are None, empty or False."""
    given = {name: value for name, value in options.items() if value not in (None, [], ())}
    when = given.pop("when", None)
    make = _MAKERS.get(kind)
    event = {"kind": kind, **(given if make is None else make(given))}
    if when is not None:
        event["when"] = _moment(cast("str", when))
    return event


def _moment(text: str) -> date:
    try:
        return date.fromisoformat(text) if len(text.strip()) <= 10 else datetime.fromisoformat(text.strip())
    except ValueError as error:
        raise InputError(
            f"'{text}' is not a date, or a date and time",
            "write for example 2026-05-03 or '2026-05-03 10:15'",
            Place(field="when"),
        ) from error


def _texts(given: Options, name: str) -> tuple[str, ...]:
    return tuple(cast("list[str]", given.pop(name, [])))


def _check(items: Mapping[str, str], field: str) -> Callable[[Options], Options]:
    """A maker for a check; a person may use the short name of an item or the words of the check."""
    known = {key.replace("_", " "): key for key in items}
    known |= {words.replace("-", " "): key for key, words in items.items()}

    def make(given: Options) -> Options:
        everything = bool(given.pop("everything", False))
        good, wrong = _texts(given, "good"), _texts(given, "wrong")
        found = phrases.checked_items(known, good, wrong, field, everything=everything)
        return {**found, **given}

    return make


def _safe_length(given: Options) -> Options:
    return {**given, "helper": bool(given.get("helper")), "backstop": bool(given.get("backstop"))}


def _shots(given: Options) -> Options:
    hits = [phrases.hit(text, "fletched", "fletched") for text in _texts(given, "fletched")]
    hits += [phrases.hit(text, "bare", "bare") for text in _texts(given, "bare")]
    bad = _texts(given, "bad")
    for number in bad:
        mine = [hit for hit in hits if str(hit["shaft"]) == number.strip()]
        if not mine:
            raise EvidenceError(
                f"shaft '{number}' was called bad, but no shot of it is here",
                "give the number of a shaft named in --fletched or --bare",
                Place(field="bad"),
            )
        for hit in mine:
            hit["bad"] = True
    if not hits:
        raise EvidenceError("no arrow was named", "give each with --fletched or --bare", Place(field="hits"))
    askew = given.pop("askew", False)
    return {**given, **({"square": False} if askew else {}), "hits": hits}


def _state(given: Options) -> Options:
    bare = given.pop("bare")
    marks = {"bad": True} if given.pop("bad", False) else {}
    return {"state": "bare" if bare else "fletched", **given, **marks}


def _nock_series(given: Options) -> Options:
    through = str(given["through"]).strip().lower()
    readings = [phrases.nock_reading(text, through, "reading") for text in _texts(given, "readings")]
    return {**_state(given), "readings": readings}


def _cut(given: Options) -> Options:
    given.pop("sure", None)
    return given


def _shaft(given: Options) -> Options:
    own = [key.name for key in _key("shaft changed", "shaft").keys]
    shaft = {name: given.pop(name) for name in own if name in given}
    return {**({"shaft": shaft} if shaft else {}), **given}


def _build(given: Options) -> Options:
    for name in ("nock", "bushing", "wrap", "insert", "collar", "vanes"):
        if name in given:
            given[name] = phrases.part(str(given[name]), _key("build changed", name).keys, name)
    return given


def _bow(given: Options) -> Options:
    readings = [phrases.draw_reading(text, "draw reading") for text in _texts(given, "draw_readings")]
    if readings:
        given["draw_readings"] = readings
    if "rest" in given:
        given["rest"] = phrases.part(str(given["rest"]), _key("bow changed", "rest").keys, "rest")
    return given


def _key(kind: str, name: str) -> Key:
    return next(key for key in EVENTS[kind] if key.name == name)


_MAKERS: Mapping[str, Callable[[Options], Options]] = MappingProxyType(
    {
        "bow check": _check(BOW_ITEMS, "bow check"),
        "contact check": _check(CONTACT_ITEMS, "contact check"),
        "safe length": _safe_length,
        "shots": _shots,
        "proof group": _shots,
        "tear": _state,
        "nock series": _nock_series,
        "chronograph": _state,
        "cut": _cut,
        "shaft changed": _shaft,
        "build changed": _build,
        "bow changed": _bow,
    }
)
