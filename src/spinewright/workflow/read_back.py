"""Reads an event back in whole sentences, so that the person sees what was understood before anything is concluded."""

from __future__ import annotations

from collections.abc import Iterator
from functools import singledispatch
from types import MappingProxyType

from spinewright.evidence import BowCheck, ContactCheck, Impact, read_back
from spinewright.logbook import BenchState, Knob, LedgerEntry
from spinewright.logbook import events as ev
from spinewright.units import Hand, Kind, System, counted, show, show_offset, side_word

__all__ = ["hit_words", "last_seen", "ledger_words", "understood"]

_MOST_LINES = 24  # arrows that are read back one by one; a longer list is not read by anyone
_NOTHING = 1e-6  # m, rad or turns
_SIGHT = (Knob.SIGHT_SIDEWAYS, Knob.SIGHT_HEIGHT)  # its clicks are only ever counted
_WORDS = MappingProxyType(
    {
        Knob.REST_HEIGHT: ("up", "down"),
        Knob.NOCK_POINT: ("up", "down"),
        Knob.SIGHT_HEIGHT: ("up", "down"),
        Knob.LIMB_BOLTS: ("in", "out"),
        Knob.LENGTH: ("longer", "shorter"),
    }
)


def understood(event: ev.Event, state: BenchState) -> tuple[str, ...]:
    """What ``event``, the last one of ``state``, was understood to say: one sentence each."""
    sentences = list(_say(event, state))
    if event.note:
        sentences.append(f"Note: {event.note}")
    return tuple(sentences)


def last_seen(state: BenchState) -> str:
    """The observation seen last, read back in one sentence; '' when nothing was seen yet."""
    if not state.history.seen:
        return ""
    return _sentence(read_back(state.history.seen[-1].what, state.scope.hand, state.scope.system))


@singledispatch
def _say(event: ev.Event, state: BenchState) -> Iterator[str]:
    yield from _ledger(event, state)


@_say.register
def _(event: ev.Shots, state: BenchState) -> Iterator[str]:
    yield from _observed(event, state)
    for hit in event.hits[:_MOST_LINES]:
        yield hit_words(hit.impact, state.scope.hand, state.scope.system)
    if len(event.hits) > _MOST_LINES:
        yield f"And {len(event.hits) - _MOST_LINES} more arrows."


@_say.register(ev.PaperTorn)
@_say.register(ev.NockSeriesShot)
@_say.register(ev.SpeedRead)
def _observed(event: ev.Event, state: BenchState) -> Iterator[str]:
    for seen in state.history.seen:
        if seen.event == event.id:
            yield _sentence(read_back(seen.what, state.scope.hand, state.scope.system))


@_say.register
def _(event: ev.BowChecked, state: BenchState) -> Iterator[str]:
    yield from _checked(event.check, state)
    if event.weighed is not None:
        weight = show(event.weighed, Kind.FORCE, state.scope.system)
        yield f"Peak weight on the scale: {weight}; the bow as it was, known better."


@_say.register
def _(event: ev.ContactChecked, state: BenchState) -> Iterator[str]:
    yield from _checked(event.check, state)


@_say.register
def _(event: ev.SafeLengthMarked, state: BenchState) -> Iterator[str]:
    system = state.scope.system
    left = state.now.build.throat_length - event.length
    yield (
        f"Shortest safe length: {show(event.length, Kind.LENGTH, system)} from the nock throat, marked at full draw; "
        f"{show(left, Kind.LENGTH, system)} could come off before it."
    )


@_say.register
def _(event: ev.BoltsTurned, state: BenchState) -> Iterator[str]:
    yield from _ledger(event, state)
    weight = show(state.now.present_peak_weight, Kind.FORCE, state.scope.system, digits=1)
    yield f"Peak weight now {weight}, {'weighed' if event.weighed is not None else 'reckoned, not weighed'}."


@_say.register
def _(event: ev.Cut, state: BenchState) -> Iterator[str]:
    system = state.scope.system
    move = next(m for m in reversed(state.moves) if m.event == event.id)
    off = move.before.build.throat_length - event.throat_length
    took = show(off, Kind.LENGTH, system)
    intended = "" if event.intended is None else f" ({show(event.intended, Kind.LENGTH, system)} intended)"
    throat, carbon = (show(value, Kind.LENGTH, system) for value in (event.throat_length, event.carbon_length))
    yield f"Cut {took} off the nock end{intended}: {throat} from the nock throat, {carbon} of shaft."
    if state.safe_length is not None:
        spare = event.throat_length - state.safe_length
        edge = "longer" if spare >= 0.0 else "SHORTER"
        yield f"{show(abs(spare), Kind.LENGTH, system)} {edge} than the shortest safe length."
    yield "Square the end, seat the nock fully, and find and mark its best angle again."


@_say.register
def _(event: ev.PointChanged, state: BenchState) -> Iterator[str]:
    yield f"The set now carries the {show(event.head.mass, Kind.MASS, state.scope.system)} {event.head.kind}."


@_say.register
def _(event: ev.ShaftChanged, state: BenchState) -> Iterator[str]:
    system = state.scope.system
    spine = show(state.now.build.shaft.static_spine, Kind.SPINE, system)
    what = "the same kind of shaft" if event.shaft is None else f"another shaft, spine {spine}"
    yield (
        f"A new set on {what}: {show(event.throat_length, Kind.LENGTH, system)} from the nock throat, "
        f"{show(event.carbon_length, Kind.LENGTH, system)} of shaft."
    )


@_say.register
def _(event: ev.BuildChanged, state: BenchState) -> Iterator[str]:
    names = [n for n in ("nock", "bushing", "wrap", "insert", "collar", "vanes") if getattr(event, n) is not None]
    mass = show(state.now.build.total_mass(bare=False), Kind.MASS, state.scope.system)
    yield f"Changed on the set: {', '.join(names) or 'the seat of the nock'}; the arrow now weighs {mass}."


@_say.register
def _(event: ev.TapeChanged, state: BenchState) -> Iterator[str]:
    system = state.scope.system
    balanced = "it makes up for the vanes" if state.now.build.balanced else "it does not make up for the vanes"
    yield f"Tape on each bare shaft: {show(event.mass, Kind.MASS, system)}; {balanced}."


@_say.register
def _(event: ev.BowChanged, state: BenchState) -> Iterator[str]:
    weight = show(state.now.present_peak_weight, Kind.FORCE, state.scope.system, digits=1)
    yield f"Work on the bow: {event.what}. Peak weight {weight}."


@_say.register
def _(event: ev.RestMeasured, state: BenchState) -> Iterator[str]:
    for way, size in (("sideways", event.per_click_sideways), ("in height", event.per_click_height)):
        if size is not None:
            click = show(size, Kind.LENGTH, state.scope.system)
            yield f"One click of the rest moves it {click} {way}; clicks logged before count as that too."
    yield from _ledger(event, state)
    if not state.rest_known:
        yield "Where the rest stands is still not known in the other direction."


@_say.register
def _(event: ev.NockTurned, state: BenchState) -> Iterator[str]:
    if event.shaft is None:
        yield from _ledger(event, state)
        return
    turned = _amount(Knob.NOCK, event.angle, state)
    own = dict(state.history.own_turns).get(event.shaft)
    stands = "as its fellows again" if own is None else f"{_amount(Knob.NOCK, own, state)} from its fellows in all"
    yield (
        f"Nock of shaft {event.shaft} alone: {turned}; it stands {stands}. What it shot before is kept and no longer "
        "counts."
    )


@_say.register
def _(event: ev.ShaftSetAside, state: BenchState) -> Iterator[str]:
    del state
    yield (
        f"Shaft {event.shaft} is set aside: what it shot as it is built now is kept and marked and no longer counts. "
        "It counts again from when its nock was turned."
    )


@_say.register
def _(event: ev.FlexChecked, state: BenchState) -> Iterator[str]:
    if event.sound:
        yield f"Shaft {event.shaft} flexed and looked at: sound."
    else:
        yield f"Shaft {event.shaft} is not sound: break it and throw it away, it is never shot again."
    del state


@_say.register
def _(event: ev.SettingsMarkedGood, state: BenchState) -> Iterator[str]:
    del event
    rest = show_offset(state.now.rest_y, state.now.rest_z, state.scope.hand, state.scope.system, digits=3)
    where = "where it was at the start" if rest == "centre" else f"{rest} of its start"
    yield f"These settings are kept as the last good ones, with the rest {where}."


@_say.register
def _(event: ev.AnswersKept, state: BenchState) -> Iterator[str]:
    del state
    yield f"Answers to the task '{event.to}' are kept: {counted(len(event.answers), 'line')}."


@_say.register
def _(event: ev.Undone, state: BenchState) -> Iterator[str]:
    del state
    yield f"Event {event.undoes} no longer counts; it stays in the file."


def _checked(check: BowCheck | ContactCheck, state: BenchState) -> Iterator[str]:
    hand = state.scope.hand
    yield _sentence(read_back(check, hand).removesuffix(f", {hand}-handed"))  # a check has no sides


def hit_words(impact: Impact, hand: Hand, system: System) -> str:
    """One arrow of a walk in a sentence: its hole, its nock, and why it does not count if it does not."""
    kind = "bare" if impact.bare else "fletched"
    text = f"Shaft {impact.shaft}, {kind}: hole {show_offset(impact.y, impact.z, hand, system)}"
    if impact.lean_y is not None or impact.lean_z is not None:
        lean = show_offset(impact.lean_y or 0.0, impact.lean_z or 0.0, hand, system, kind=Kind.ANGLE)
        text += f"; nock {'standing ' if lean == 'straight' else 'leaning '}{lean}"
    if impact.head.value != "field point":
        text += f"; {impact.head}"
    if impact.set_aside:
        return text + "; its shaft is set aside, kept and not counted."
    return text + ("; called bad, kept and not counted." if impact.called_bad else ".")


def _ledger(event: ev.Event, state: BenchState) -> Iterator[str]:
    for entry in state.ledger:
        if entry.event == event.id:
            yield ledger_words(entry, state)


def ledger_words(entry: LedgerEntry, state: BenchState) -> str:
    """One change of one knob, and how far it stands from the recorded start since then."""
    parts = []
    if entry.clicks is not None:
        unknown = entry.intended is None and entry.measured is None and entry.knob not in _SIGHT
        parts.append(_clicks(entry.knob, entry.clicks, state) + (" (of unknown size)" if unknown else ""))
    if entry.intended is not None and entry.intended == entry.measured:
        parts.append(_amount(entry.knob, entry.intended, state))
    else:
        for name, amount in (("intended", entry.intended), ("measured", entry.measured)):
            if amount is not None:
                parts.append(f"{_amount(entry.knob, amount, state)} {name}")
    total = "how far it stands from the recorded start is not known"
    than = "than at the recorded start" if entry.knob is Knob.LENGTH else "from the recorded start"
    if entry.total is not None:
        total = f"{_amount(entry.knob, entry.total, state)} {than} in all"
        if abs(entry.total) < _NOTHING:
            total = "back at the recorded start"
    elif entry.total_clicks is not None:
        total = f"{_clicks(entry.knob, entry.total_clicks, state)} {than} in all"
    return f"{str(entry.knob).capitalize()}: {', '.join(parts) or 'measured where it stands'}; {total}."


def _clicks(knob: Knob, clicks: float, state: BenchState) -> str:
    return f"{counted(clicks, 'click')} {_way(knob, clicks, state)}"


def _amount(knob: Knob, amount: float, state: BenchState) -> str:
    system = state.scope.system
    if knob is Knob.LIMB_BOLTS:
        size = counted(amount, "turn")
    elif knob is Knob.NOCK:
        size = show(abs(amount), Kind.ANGLE, system)
    else:
        size = show(abs(amount), Kind.LENGTH, system, digits=3 if system is System.INCH else 2)
    return f"{size} {_way(knob, amount, state)}"


def _way(knob: Knob, amount: float, state: BenchState) -> str:
    if knob in _WORDS:
        return _WORDS[knob][amount < 0]
    seen = amount * state.scope.hand.sideways_sign
    if knob is Knob.NOCK:
        return "clockwise" if seen >= 0 else "counterclockwise"
    return side_word(amount, state.scope.hand)


def _sentence(text: str) -> str:
    return f"{text[:1].upper()}{text[1:]}."
