"""What each measuring of the bow does to the bench: it is better known afterwards, and nothing was changed."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace

from spinewright.equipment.bow import Rest
from spinewright.equipment.setup import Setup
from spinewright.errors import EvidenceError, InputError, Place
from spinewright.logbook import events as ev
from spinewright.logbook.bench import Bench
from spinewright.logbook.session import Session
from spinewright.logbook.state import Knob
from spinewright.units import POUND_FORCE, Kind, show

__all__ = ["rest_measured", "said_unknown", "weighed_anew", "with_clicks_known"]

_SCALES_AGREE = 2.0 * POUND_FORCE  # two bow scales, or one on two days, differ by no more (from memory)
_KEYS = {Knob.REST_SIDEWAYS: "sideways_per_click", Knob.REST_HEIGHT: "height_per_click"}
_FIELDS = {Knob.REST_SIDEWAYS: "per_click_sideways", Knob.REST_HEIGHT: "per_click_height"}
_PLACES = {Knob.REST_SIDEWAYS: "rest_y", Knob.REST_HEIGHT: "rest_z"}
_NOTHING = 1e-9  # turns or m


def weighed_anew(bench: Bench, weighed: float) -> None:
    """A weighing [N] counts for every setup with the limb bolts where they stand now, since the last work on the bow.

    The bow is the same as it was then, only better known. Setups with the bolts elsewhere are reckoned from the new
    weight where they were reckoned from one read with the bolts where they stand now, and keep their own otherwise.
    """
    here, before = bench.now.bolt_turns, bench.now.present_peak_weight
    if abs(weighed - before) > _SCALES_AGREE:
        system = bench.session.scope.system
        bench.notice(
            f"The scale says {show(weighed, Kind.FORCE, system)} where {show(before, Kind.FORCE, system)} was known: "
            "taken as a better reading of the same bow. If string, cables or cams were changed, undo it and log 'bow "
            "changed'; if the bolts were turned, log that first."
        )

    def better(setup: Setup) -> Setup:
        if abs(setup.bolt_turns - here) < _NOTHING:
            return replace(setup, bow=replace(setup.bow, peak_weight=weighed), bolts_since_weighed=0.0)
        if abs(setup.bolt_turns - setup.bolts_since_weighed - here) < _NOTHING:
            return replace(setup, bow=replace(setup.bow, peak_weight=weighed))
        return setup

    bench.better_known(better, bench.bow_since)


def rest_measured(bench: Bench, event: ev.RestMeasured) -> None:
    """Where the rest stands now, held against the recorded start; the size of a click is known from the start on.

    Clicks of unknown size counted before give their size, so that :func:`replay` can mend what was seen between.
    """
    marks = bench.session.marks
    for knob, name, measured, mark in (
        (Knob.REST_SIDEWAYS, "centre_shot", event.centre_shot, marks.centre_shot),
        (Knob.REST_HEIGHT, "rest_height", event.height, marks.rest_height),
    ):
        if measured is None:
            continue
        if mark is None:
            raise EvidenceError(
                f"{name} was not noted at the start, so it cannot say how far the rest has moved",
                f"fill in {name} under [start], or measure the travel of ten clicks and log {_KEYS[knob]}",
                Place(field=name),
            )
        _stands(bench, event, knob, round(measured - mark, 9))
    bench.new_rest = bench.new_rest and bool(bench.rest_unknown)


def _stands(bench: Bench, event: ev.RestMeasured, knob: Knob, place: float) -> None:
    """The rest stands ``place`` [m] from its recorded start in one direction."""
    axis = _PLACES[knob]
    off = place - getattr(bench.now, axis)
    clicks = bench.unsized_clicks.get(knob, 0.0)
    if not bench.new_rest and clicks and _sensible(bench.now.bow.rest, knob, off / clicks):
        bench.click_implied[(bench.rests, knob)] = off / clicks
    bench.rest_unknown.pop(knob, None)
    bench.unsized_clicks.pop(knob, None)
    bench.settle(event, knob, place)

    def better(setup: Setup) -> Setup:
        return replace(setup, **{axis: round(getattr(setup, axis) + off, 9)})

    since = bench.rest_since.get(knob)
    if since is None:
        bench.stand(better(bench.now))  # it was never moved on purpose, so it has slipped since the start
    else:
        bench.better_known(better, since)


def _sensible(rest: Rest, knob: Knob, per_click: float) -> bool:
    """Whether a click of a rest can travel so far [m]."""
    try:
        _with_clicks(rest, {knob: per_click})
    except InputError:
        return False
    return True


def with_clicks_known(
    session: Session, events: Iterable[ev.Event], implied: dict[tuple[int, Knob], float]
) -> tuple[Setup, list[ev.Event]]:
    """The start and ``events`` as they are with every travel of a click that was measured at any time.

    A click is as long before it was measured as after, so it holds for all moves of the same rest. What was measured
    last counts, before what is ``implied`` by the number of the rest and the direction.
    """
    found: dict[int, dict[Knob, float]] = {}
    for (number, knob), per_click in implied.items():
        found.setdefault(number, {})[knob] = per_click
    rests = 0
    for event in events:
        if isinstance(event, ev.BowChanged) and event.rest is not None:
            rests += 1
        elif isinstance(event, ev.RestMeasured):
            for knob, name in _FIELDS.items():
                if getattr(event, name) is not None:
                    found.setdefault(rests, {})[knob] = getattr(event, name)
    start = session.start
    if 0 in found:
        start = replace(start, bow=replace(start.bow, rest=_with_clicks(start.bow.rest, found[0])))
    return start, list(_rests_known(events, found))


def _with_clicks(rest: Rest, per_click: dict[Knob, float]) -> Rest:
    return replace(
        rest,
        per_click_sideways=per_click.get(Knob.REST_SIDEWAYS, rest.per_click_sideways),
        per_click_height=per_click.get(Knob.REST_HEIGHT, rest.per_click_height),
    )


def _rests_known(events: Iterable[ev.Event], found: dict[int, dict[Knob, float]]) -> Iterator[ev.Event]:
    rests = 0
    for event in events:
        if isinstance(event, ev.BowChanged) and event.rest is not None:
            rests += 1
            yield replace(event, rest=_with_clicks(event.rest, found.get(rests, {})))
        else:
            yield event


def said_unknown(bench: Bench) -> None:
    """Say in which direction nobody knows where the rest stands, and what would tell."""
    if bench.new_rest:
        return
    for knob, on_day in bench.rest_unknown.items():
        bench.notice(
            f"The rest was moved by clicks of unknown size{on_day}, so where it stands is not known: measure ten "
            f"clicks and log {_KEYS[knob]} as 'rest measured', or log there where it stands now; then the clicks "
            "logged before count as well."
        )
