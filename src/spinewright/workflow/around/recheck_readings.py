"""What is measured in a five-minute check: what each reading should be, how far it may be off, and what that moves."""

from __future__ import annotations

from dataclasses import dataclass, replace

from spinewright.advice.phrases import Style, length_phrase
from spinewright.equipment import CurveShape, ForceReading, Setup
from spinewright.logbook import BenchState
from spinewright.units import INCH, POUND_FORCE, Kind, System, show
from spinewright.workflow.around.account import Cell
from spinewright.workflow.around.answers import Answers
from spinewright.workflow.showing import Voice

__all__ = ["Judged", "Reading", "amount", "judged_readings", "shown", "verdict"]

_RULER = INCH / 64  # m, as finely as a ruler is read


@dataclass(frozen=True, slots=True)
class Reading:
    """One thing that is measured in the five minutes.

    question     of what was read now
    should       [SI] what it should be; None = never noted
    most         [SI] how far off the trade leaves it (common practice); least: as finely as a person reads it
    slipped      the bench with it off by ``most``; None = the model does not say what that does
    """

    name: str
    question: str
    kind: Kind
    should: float | None
    most: float
    least: float
    slipped: Setup | None


@dataclass(frozen=True, slots=True)
class Judged:
    """A reading with what it is worth: how far it may be off and why, what that moves, what was read, how it stands."""

    reading: Reading
    within: float
    because: str
    moves: str
    read: float | None
    off: bool


def _readings(state: BenchState, target: Setup) -> list[Reading]:
    """What is measured, in the order in which it shows that something moved (common practice)."""
    bow, marks = target.bow, state.marks
    weight = target.present_peak_weight

    def noted(mark: float | None, moved: float) -> float | None:
        return None if mark is None else mark + moved

    fine = INCH / 32
    weighed = _with_bow(target, weight - POUND_FORCE)
    lower = _with_bow(target, weight, bow.brace_height - INCH / 16)
    return [
        Reading("brace height", "brace-height", Kind.LENGTH, bow.brace_height, INCH / 16, INCH / 32, lower),
        Reading("axle to axle", "axle-to-axle", Kind.LENGTH, bow.axle_to_axle, INCH / 8, INCH / 16, None),
        Reading("peak weight", "weighed", Kind.FORCE, weight, POUND_FORCE, 0.5 * POUND_FORCE, weighed),
        Reading("nock height", "nock-height", Kind.LENGTH, noted(marks.nock_height, target.nock_z), fine, _RULER,
                 replace(target, nock_z=target.nock_z - fine)),
        Reading("centre shot", "centre-shot", Kind.LENGTH, noted(marks.centre_shot, target.rest_y), fine, _RULER,
                 replace(target, rest_y=target.rest_y - fine)),
        Reading("rest height", "rest-height", Kind.LENGTH, noted(marks.rest_height, target.rest_z), fine, _RULER,
                 replace(target, rest_z=target.rest_z - fine)),
    ]  # fmt: skip


def _with_bow(target: Setup, weight: float, brace: float | None = None) -> Setup:
    """``target`` with its bow at another peak weight and brace height; a curve that was read goes along with both.

    A string that creeps lets the nock rest further forward: the draw is counted from there, the peak stays the peak.
    """
    bow = target.bow
    low = bow.brace_height if brace is None else brace
    curve = bow.curve
    if not isinstance(curve, CurveShape):
        longer = (bow.draw_length - low) / (bow.draw_length - bow.brace_height)
        share = weight / bow.peak_weight
        curve = tuple(
            ForceReading(bow.draw_length - longer * (bow.draw_length - c.draw), share * c.force) for c in curve
        )
    changed = replace(bow, peak_weight=weight, brace_height=low, curve=curve)
    return replace(target, bow=changed, bolts_since_weighed=0.0)


def judged_readings(state: BenchState, target: Setup, distance: float, answers: Answers, voice: Voice) -> list[Judged]:
    """Every reading with its tolerance: what moves the hit by half the archer's scatter, as far as that can be read."""
    from spinewright.outlook.small_changes import slips

    readings = _readings(state, target)
    slipped = tuple(one.slipped for one in readings if one.slipped is not None)
    base = _with_bow(target, target.present_peak_weight)
    found = iter(slips(base, state.history.bow_check, slipped, distance))
    half = 0.5 * state.archer.scatter * distance
    judged = []
    for one in readings:
        within, because, moves = one.most, "common practice", "not computed"
        if one.slipped is not None:
            size = next(found).size
            shows = one.most * half / max(size.middle, 1e-9)
            if shows < one.most:
                within, because = max(shows, one.least), "half your scatter"
            if within == one.least:
                because = "as finely as it is read"
            ends = (end * within / one.most for end in (size.low, size.high))
            moves = " to ".join(show(end, Kind.LENGTH, voice.system, digits=_digits(voice)) for end in ends)
        read = answers.maybe(one.question)
        off = read is not None and one.should is not None and abs(read - one.should) > within + 1e-6
        judged.append(Judged(one, within, because, moves, read, off))
    return judged


def _digits(voice: Voice) -> int:
    return 2 if voice.system is System.INCH else 1


def amount(size: float, one: Judged, voice: Voice) -> str:
    """A small amount of a reading, as a ruler or a scale shows it."""
    if one.reading.kind is Kind.LENGTH and voice.system is System.INCH:
        return length_phrase(size, Style(voice.hand, voice.system))
    return show(size, one.reading.kind, voice.system, digits=1)


def shown(value: float | None, one: Judged, voice: Voice) -> Cell:
    """What the reading should be, for a table."""
    if value is None:
        return "never noted"
    return voice.quantity(value, one.reading.kind, 1 if one.reading.kind is Kind.FORCE else None)


def verdict(one: Judged, voice: Voice) -> str:
    """How what was read stands to it."""
    if one.read is None:
        return "not read"
    if one.reading.should is None:
        return "nothing to hold it against"
    off = one.read - one.reading.should
    return f"out: {amount(abs(off), one, voice)} {'more' if off > 0 else 'less'}" if one.off else "kept"
