"""What each event that changed something does to the bench."""

from __future__ import annotations

import math
from dataclasses import replace

from spinewright.errors import EvidenceError, Place
from spinewright.logbook import events as ev
from spinewright.logbook.bench import Bench
from spinewright.logbook.measuring import weighed_anew
from spinewright.logbook.state import Knob, TurnedAlone
from spinewright.logbook.works import changed_by, forgotten
from spinewright.units import INCH, Kind, counted, show

__all__ = [
    "bolts_turned",
    "bow_changed",
    "build_changed",
    "cut",
    "nock_point_moved",
    "nock_turned",
    "point_changed",
    "rest_moved",
    "shaft_changed",
    "sight_moved",
    "tape_changed",
]

_UNEVEN_CUT = INCH / 8.0  # m; a nock reseated a little deeper is less than this (common practice)


def rest_moved(bench: Bench, event: ev.RestMoved) -> None:
    """Measured before clicks, clicks before intended; clicks of unknown size leave the place unknown."""
    rest = bench.now.bow.rest
    y = _one_way(bench, event, Knob.REST_SIDEWAYS, "y", rest.per_click_sideways)
    z = _one_way(bench, event, Knob.REST_HEIGHT, "z", rest.per_click_height)
    # Rounded to a nanometre, so that there and back is the same setup again.
    rest_y, rest_z = round(bench.now.rest_y + y, 9), round(bench.now.rest_z + z, 9)
    bench.move(event, replace(bench.now, rest_y=rest_y, rest_z=rest_z))
    moved = {entry.knob for entry in bench.ledger if entry.event == event.id}
    bench.rest_since |= dict.fromkeys(moved, bench.since_now())


def _one_way(bench: Bench, event: ev.RestMoved, knob: Knob, axis: str, per_click: float | None) -> float:
    clicks, intended, measured = (getattr(way, axis) for way in (event.clicks, event.intended, event.measured))
    if clicks is None and intended is None and measured is None:
        return 0.0
    meant = clicks * per_click if clicks is not None and per_click is not None else intended
    amount = bench.enter(event, knob, intended=meant, measured=measured, clicks=clicks)
    if amount is not None:
        return amount
    bench.rest_unknown.setdefault(knob, event.on_day)
    bench.unsized_clicks[knob] = bench.unsized_clicks.get(knob, 0.0) + (clicks or 0.0)
    return 0.0


def nock_point_moved(bench: Bench, event: ev.NockPointMoved) -> None:
    """Measured before intended."""
    amount = bench.enter(event, Knob.NOCK_POINT, intended=event.intended, measured=event.measured) or 0.0
    bench.move(event, replace(bench.now, nock_z=round(bench.now.nock_z + amount, 9)))


def bolts_turned(bench: Bench, event: ev.BoltsTurned) -> None:
    """Both limb bolts; a weighing afterwards replaces what the turns would give."""
    now = bench.now
    bench.enter(event, Knob.LIMB_BOLTS, intended=event.turns, measured=event.turns)
    bolt_turns = now.bolt_turns + event.turns
    turns_out = now.bow.turns_out_now - bolt_turns
    if bench.session.marks.bolts_out is not None and turns_out < -1e-9:
        raise EvidenceError(
            f"the limb bolts would stand {-turns_out:g} turns further in than tight",
            "correct the turns, or bolts_out under [start]",
            Place(field="both_bolts"),
        )
    bow = now.bow if event.weighed is None else replace(now.bow, peak_weight=event.weighed)
    since = now.bolts_since_weighed + event.turns if event.weighed is None else 0.0
    bench.move(event, replace(now, bow=bow, bolt_turns=bolt_turns, bolts_since_weighed=since))
    if event.weighed is not None:
        weighed_anew(bench, event.weighed)
    if bow.turns_allowed is not None and turns_out > bow.turns_allowed + 1e-9:
        bench.caution(
            f"The limb bolts stand {counted(turns_out, 'turn')} out and the maker allows {bow.turns_allowed:g}: turn "
            "both back in before the bow is drawn again."
        )


def cut(bench: Bench, event: ev.Cut) -> None:
    """A cut from the back: only ever shorter, and only after a shortest-safe-length mark was made."""
    build, system = bench.now.build, bench.session.scope.system
    pairs = (("throat_length", build.throat_length, event.throat_length),)
    for name, old, new in (*pairs, ("carbon_length", build.carbon_length, event.carbon_length)):
        if new >= old:
            raise EvidenceError(
                f"a cut cannot lengthen a shaft: {show(old, Kind.LENGTH, system)} before, "
                f"{show(new, Kind.LENGTH, system)} after",
                "measure again, or log 'shaft changed' if it is another set",
                Place(field=name),
            )
    if bench.safe_length is None:
        raise EvidenceError(
            "no shortest-safe-length mark was logged before this cut",
            "let a helper mark the shaft at full draw while you face a backstop and log it as 'safe length' first; "
            "if it is cut already, make and log the mark before it is shot",
        )
    off = build.throat_length - event.throat_length
    stray = abs(off - (build.carbon_length - event.carbon_length))
    if stray > _UNEVEN_CUT:
        bench.notice(
            f"The cut{event.on_day} took {show(stray, Kind.LENGTH, system)} more off one length than the other: "
            "see that the nock is fully seated and measure both again."
        )
    intended = None if event.intended is None else -event.intended
    bench.enter(event, Knob.LENGTH, intended=intended, measured=-off)
    bench.move(event, bench.build(throat_length=event.throat_length, carbon_length=event.carbon_length))
    _hold_against_mark(bench)


def _hold_against_mark(bench: Bench) -> None:
    throat, mark = bench.now.build.throat_length, bench.safe_length
    if mark is not None and throat < mark - 1e-6:
        bench.caution(
            f"The arrow is {show(mark - throat, Kind.LENGTH, bench.session.scope.system)} shorter than the "
            "shortest-safe-length mark: do not draw it, it can come off the rest into the hand."
        )


def point_changed(bench: Bench, event: ev.PointChanged) -> None:
    """Another point."""
    bench.move(event, bench.build(head=event.head))


def nock_turned(bench: Bench, event: ev.NockTurned) -> None:
    """The nocks of the whole set; or of one shaft alone, whose holes then count from here on only."""
    if event.shaft is not None:
        bench.no_longer_counts(event.shaft, series=False)
        bench.set_aside.pop(event.shaft, None)
        bench.turned_alone.append((TurnedAlone(event.id, event.shaft, event.angle, len(bench.seen)), bench.now.build))
        bench.notice(
            f"The nock of shaft {event.shaft} was turned alone{event.on_day}: its fellows stay, and a series it shot "
            "before no longer says how to turn the set."
        )
        return
    bench.enter(event, Knob.NOCK, intended=event.angle, measured=event.angle)
    turned = math.remainder(bench.now.nock_angle + event.angle, math.tau)
    bench.move(event, replace(bench.now, nock_angle=turned))


def shaft_changed(bench: Bench, event: ev.ShaftChanged) -> None:
    """A new set: lengths, nock angle and broken shafts count anew; the other parts are as before."""
    shaft = bench.now.build.shaft if event.shaft is None else event.shaft
    build = replace(bench.now.build, shaft=shaft, throat_length=event.throat_length, carbon_length=event.carbon_length)
    bench.restart(Knob.LENGTH, Knob.NOCK)
    bench.move(event, replace(bench.now, build=build, nock_angle=0.0))
    bench.broken_shafts.clear()
    bench.flex_checks.clear()
    bench.set_began = len(bench.seen)
    bench.set_aside.clear()
    bench.turned_alone.clear()
    bench.contact_check = None
    if event.spare_shafts is not None:
        bench.owned = replace(bench.owned, spare_shafts=event.spare_shafts)
    elif event.shaft is not None:
        bench.owned = replace(bench.owned, spare_shafts=0)
    _hold_against_mark(bench)


def build_changed(bench: Bench, event: ev.BuildChanged) -> None:
    """Other parts on the same shafts."""
    parts = {name: getattr(event, name) for name in ("nock", "bushing", "wrap", "insert", "collar")}
    changed = {name: part for name, part in parts.items() if part is not None}
    if event.vanes is not None:
        changed["fletching"] = event.vanes
        bench.contact_check = None
    if event.throat_length is not None:
        changed["throat_length"] = event.throat_length
    bench.move(event, bench.build(**changed))
    _hold_against_mark(bench)


def tape_changed(bench: Bench, event: ev.TapeChanged) -> None:
    """Tape on the bare shafts."""
    bench.move(event, bench.build(tape_mass=event.mass))


def bow_changed(bench: Bench, event: ev.BowChanged) -> None:
    """Work on the bow: what was measured replaces the old, and mark and checks no longer hold."""
    now = bench.now
    names = ("let_off", "draw_length", "brace_height", "axle_to_axle", "string_mass", "on_string", "curve", "rest")
    changed = {name: getattr(event, name) for name in names if getattr(event, name) is not None}
    if event.weighed is not None:
        changed["peak_weight"] = event.weighed
    since = now.bolts_since_weighed if event.weighed is None else 0.0
    bow = replace(now.bow, **changed, worked=now.bow.worked + 1)
    bench.move(event, replace(now, bow=bow, bolts_since_weighed=since))
    work = changed_by(event)
    bench.works.append(work)
    bench.checks_before.append(bench.bow_check)
    bench.bow_since = bench.since_now()
    bench.bow_check = bench.contact_check = None
    if bench.safe_length is not None:
        bench.safe_length = None
        bench.caution(
            "The bow was worked on, so the old shortest-safe-length mark no longer counts: make a new one at full draw "
            "with a helper before anything is cut."
        )
    bench.notice(f"The bow was worked on{event.on_day}: check it again before anything is concluded. {forgotten(work)}")
    if event.rest is not None:
        _other_rest(bench, event.on_day)
        bench.notice(
            f"The rest is another one since the work on the bow{event.on_day}: set it to the recorded "
            "centre shot and log that item of the bow check; until then where it stands is not known."
        )


def _other_rest(bench: Bench, on_day: str) -> None:
    """Nobody knows where another rest stands, and what was counted of the old one no longer matters."""
    bench.rests += 1
    bench.new_rest = True
    bench.unsized_clicks.clear()
    bench.restart(Knob.REST_SIDEWAYS, Knob.REST_HEIGHT)
    bench.rest_unknown |= dict.fromkeys((Knob.REST_SIDEWAYS, Knob.REST_HEIGHT), on_day)
    bench.rest_since |= dict.fromkeys((Knob.REST_SIDEWAYS, Knob.REST_HEIGHT), bench.bow_since)


def sight_moved(bench: Bench, event: ev.SightMoved) -> None:
    """The sight: kept in the ledger; holes shot before and after are not compared."""
    bench.sight_moves += 1
    for knob, axis in ((Knob.SIGHT_SIDEWAYS, "y"), (Knob.SIGHT_HEIGHT, "z")):
        clicks, measured = getattr(event.clicks, axis), getattr(event.measured, axis)
        if clicks is not None or measured is not None:
            bench.enter(event, knob, measured=measured, clicks=clicks)
