"""What it means: a first reading that needs no solver, the computed answer, the moves, and a cut's confirmation."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from spinewright.evidence import (
    SIGN_TABLE,
    Tear,
    TradeKind,
    TradeNoise,
    TradeReading,
    Visit,
    check_caution,
    tear_noise,
    trade_reading,
    trade_words,
)
from spinewright.evidence.groups import select
from spinewright.logbook import BenchState
from spinewright.units import Kind, parse
from spinewright.workflow.benches.answers import Answer, last_answer
from spinewright.workflow.benches.examples import on_the_rule
from spinewright.workflow.benches.forecasts import forecast_json
from spinewright.workflow.benches.gap_json import gap_json, gap_of, last_gap
from spinewright.workflow.benches.room import Benches
from spinewright.workflow.benches.tune_standing import standing_words
from spinewright.workflow.benches.view import View
from spinewright.workflow.cut_asked import against_safe, cut_words
from spinewright.workflow.read_back import last_seen
from spinewright.workflow.showing import Json

__all__ = ["cut_confirm", "first_json", "meaning_json", "moves_json"]

_ALSO = (
    "The rest's place, the nock's travel (cam lean, timing, cable guard), contact and your own hand make the same "
    "picture as spine does; one walk cannot tell them apart."
)
_NOTHING = "Nothing was seen yet: shoot a few fletched and a few bare arrows at one spot and tap in where they hit."
_ONE_TEAR = (
    "A tear can be one shot's hand: tear with another bare shaft as well, and shoot bare beside fletched, before "
    "anything is moved."
)
_SURE = 1.2816  # sd either way that hold four cases in five


def meaning_json(benches: Benches, view: View) -> Json:
    """What the page about the meaning and the bench's own page show."""
    answer = last_answer(benches, view.kept, "next")
    body = None if answer is None else answer.body[str(view.voice.system)]
    gap = last_gap(view.state)
    return {
        "standing": standing_words(view),
        "first": first_json(view),
        "answer": body,
        "fresh": answer is not None and answer.fresh,
        "gap": None if gap is None else gap_json(gap, view.voice),
        "cut": _proposed_cut(view, answer),
        "log": _log(body) if answer is not None and answer.fresh else [],
    }


def moves_json(benches: Benches, view: View) -> Json:
    """The chosen move, the others and the refused, each with what it would do."""
    answer = last_answer(benches, view.kept, "next")
    if answer is None:
        return {"answer": None, "fresh": False, "chosen": None, "others": [], "refused": []}
    body = answer.body[str(view.voice.system)]
    refused = [{"words": one["move"]["words"], "reason": one["reason"]} for one in body["refused"]]
    return {
        "answer": body,
        "fresh": answer.fresh,
        "chosen": _option(body["move"]),
        "others": [_option(one) for one in body["others"] if one["kind"] != "stop: tuned"],
        "refused": refused,
    }


def first_json(view: View) -> Json:
    """What the last shots may mean by the signs of the trade, and what the archer's scatter cannot rule out."""
    state = view.state
    if not state.history.seen:
        return {"observed": "", "could_be": [], "cannot_rule_out": _NOTHING, "need": None}
    gap = last_gap(state)
    could: list[str] = []
    rule_out = "Bare and fletched arrows of one walk are needed to hold what was seen against your own scatter."
    need = None
    if gap is None and (torn := _torn(state)) is not None:
        could += [_sentence(trade_words(torn, view.voice.hand)), _ALSO]
        rule_out = _ONE_TEAR
    if gap is not None:
        made = gap_json(gap, view.voice)
        rule_out, need = str(made["words"]), made["need"]
        variance = gap.known.covariance
        noise = _SURE * float(np.sqrt(variance[0][0])) if variance is not None else 0.0
        lean, tail = _leans(state), _tails(state)
        reading = trade_reading(gap.y, gap.z, TradeNoise(noise, noise), tail_y=tail, lean_y=lean)
        could.append(_sentence(trade_words(reading, view.voice.hand)))
        if made["shows"]:
            could.append(_ALSO)
    caution = check_caution(state.history.bow_check, state.history.contact_check)
    if caution:
        could.append(caution)
    return {"observed": last_seen(state), "could_be": could, "cannot_rule_out": rule_out, "need": need}


def cut_confirm(view: View, event: Mapping[str, object]) -> Json:
    """What a cut to the lengths in ``event`` leaves, for a person to confirm. Raises InputError."""
    state, voice = view.state, view.voice
    now, safe = state.now.build.throat_length, state.safe_length
    left, shaft = (parse(event.get(name), Kind.LENGTH, field=name) for name in ("throat_length", "carbon_length"))
    words = list(cut_words(state, left, voice.system))
    return {
        "left": voice.quantity(left, Kind.LENGTH),
        "now": voice.quantity(now, Kind.LENGTH),
        "safe": voice.maybe(safe, Kind.LENGTH),
        "above_safe": None if safe is None else voice.quantity(left - safe, Kind.LENGTH),
        "against_safe": against_safe(state, left, voice.system),
        "words": words,
        "written": {
            "throat_length": on_the_rule(left, voice.system, safe),
            "carbon_length": on_the_rule(shaft, voice.system),
        },
        "allowed": safe is not None and left >= safe and left < now,
    }


def _proposed_cut(view: View, answer: Answer | None) -> Json | None:
    if answer is None or not answer.fresh:
        return None
    move = answer.body[str(view.voice.system)]["move"]
    cut = next((event for event in move["events"] if event["kind"] == "cut"), None)
    return None if cut is None else cut_confirm(view, cut)


def _log(body: Any) -> list[Json]:  # noqa: ANN401 - an object of json.md
    move = body["move"]
    return [{"words": body["explanation"]["move"], "events": move["events"]}] if move["events"] else []


def _option(move: Any) -> Json:  # noqa: ANN401 - a weighed move of json.md
    caution = "It cannot be undone." if move["cannot_undo"] else ""
    return {
        "kind": move["kind"],
        "words": move["words"],
        **forecast_json(move["gap"]),
        "under_an_inch": move["under_an_inch"],
        "cannot_undo": move["cannot_undo"],
        "minutes": move["minutes"],
        "put_back": move["put_back"],
        "too_short": move["too_short"],
        "events": move["events"],
        "caution": caution,
    }


def _leans(state: BenchState) -> float | None:
    """Mean sideways lean [rad] of the bare shafts of the last walk with both, where the target lets it count."""
    for item in reversed(state.history.seen):
        if isinstance(item.what, Visit) and gap_of(state, item.what) is not None:
            leans = [one.lean_y for one in select(item.what.impacts, bare=True) if one.lean_y is not None]
            return float(np.mean(leans)) if leans and item.what.target.lean_counts else None
    return None


def _tails(state: BenchState) -> float | None:
    """Mean sideways place [m] of the bare tails torn with the present setup."""
    tails = [
        item.what.tail_y
        for item in state.history.seen
        if isinstance(item.what, Tear) and item.what.bare and item.what.counts and item.setup == state.now
    ]
    return float(np.mean(tails)) if tails else None


def _torn(state: BenchState) -> TradeReading | None:
    """The trade's reading of bare tails alone; None when none was torn with the present setup."""
    tail = _tails(state)
    if tail is None:
        return None
    if abs(tail) <= _SURE * tear_noise():
        return TradeReading(TradeKind.WITHIN_SCATTER, None, "the bare tails tore no further to a side than is read")
    row = next(one for one in SIGN_TABLE if one.tail_y == (1 if tail > 0 else -1))
    return TradeReading(
        row.kind, row, "the bare tails tore to that side; no holes beside fletched were seen to confirm it"
    )


def _sentence(text: str) -> str:
    return f"{text[:1].upper()}{text[1:].rstrip('.')}."
