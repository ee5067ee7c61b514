"""What may not be proposed, and why: safety first, then what cannot be undone, then good order."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from spinewright.advice.diagnosis import MOST_SHOTS, Diagnosis, shots_to_know
from spinewright.advice.moves import STRAY, STRAY_HEIGHT, Move, MoveKind, strays, uncut
from spinewright.advice.situation import Situation
from spinewright.advice.trimming import Lines
from spinewright.advice.weighing import GOOD_GAP
from spinewright.belief import Cause, count_checkable
from spinewright.equipment import Limit, LimitState, Setup, TimeAtHand, safety_limits
from spinewright.evidence import bow_check_state, contact_check_state

__all__ = ["HIDES", "checks_clean", "checks_done", "gate"]

HIDES = "the gap is most likely the arrow's, and the rest would only hide a wrong spine"
NO_MARK = "the shortest safe length has not been marked on the arrow at full draw, facing a backstop, with a helper"
NOT_CHECKED = "no prediction has been checked yet; a change that can be put back comes first"
FAILED = "the last prediction did not come true; a change that can be put back comes first, to learn from"
BY_CHANCE = "the archer's own scatter could have made the gap"
TOO_WIDE = "the archer's scatter may be too large for the test to tell a cut that helps; more shots must show it first"
#: The arrow is this likely the main part of a gap of over two inches: then the rest is left alone.
SURELY_SPINE = 0.8
#: What more shots, a change that can be put back or a mark may do away with.
_PASSING = (NO_MARK, NOT_CHECKED, FAILED, BY_CHANCE, TOO_WIDE)
_NOTHING = 1e-9  # m, kg or turns
_HEIGHT_ITEMS = ("cam_timing", "nock_height", "rest_drop")


def checks_done(situation: Situation) -> bool:
    """Whether both checks were made, every item looked at."""
    history = situation.history
    return bow_check_state(history.bow_check).complete and contact_check_state(history.contact_check).complete


def checks_clean(situation: Situation) -> bool:
    """Whether both checks were made and found nothing wrong."""
    history = situation.history
    return bow_check_state(history.bow_check).passed and contact_check_state(history.contact_check).passed


def gate(move: Move, situation: Situation, diagnosis: Diagnosis, lines: Lines, *, ahead: bool = False) -> str:
    """Why ``move`` may not be proposed now, in one sentence; '' when it may.

    ``ahead``: asked of the move after the next, by when the mark can be made and one prediction will have been checked.
    """
    reasons = _reasons(move, situation, diagnosis, lines)
    return next((r for r in reasons if not (ahead and r in _PASSING)), "")


def _reasons(move: Move, situation: Situation, diagnosis: Diagnosis, lines: Lines) -> Iterator[str]:
    if move.after is not None:
        yield from _safety(move, situation)
    if situation.time is TimeAtHand.MATCH_TOMORROW and move.after is not None:
        yield "with a match tomorrow nothing is changed that is not put back"
    if situation.time is TimeAtHand.SHORT and move.minutes > 20:
        yield "it takes longer than the time at hand"
    if move.after is not None and situation.history.setups.count(move.after) > 1:
        yield "it was tried twice already"
    if move.kind is MoveKind.CUT:
        yield from _cut(move, situation, diagnosis, lines)
    if move.kind is MoveKind.POINT and move.amount < 0 and _reads_stiff(situation.now, situation, diagnosis, lines):
        yield "the arrow reads stiff, and a lighter point makes it stiffer"
    if move.kind in (MoveKind.REST_HEIGHT, MoveKind.REST_BOTH, MoveKind.NOCK_POINT):
        yield from _height(move, situation)
    if move.kind in (MoveKind.REST_SIDEWAYS, MoveKind.REST_BOTH):
        yield from _sideways(move, situation, diagnosis)


def _safety(move: Move, situation: Situation) -> Iterator[str]:
    assert move.after is not None  # noqa: S101 - the caller asks for changes only
    for bare in (False, True):
        before = {limit.what: limit for limit in safety_limits(situation.now, bare=bare)}
        for limit in safety_limits(move.after, bare=bare):
            if limit.warning_only and situation.safe_length is not None:
                continue  # the mark made at full draw decides
            if limit.state is LimitState.BROKEN and _worse(limit, before[limit.what]):
                yield f"it would not be safe ({limit.what})"
    if situation.safe_length is not None and move.after.build.carbon_length < situation.safe_length - 1e-6:
        yield "the arrow would be shorter than its marked shortest safe length"


def _worse(after: Limit, before: Limit) -> bool:
    """Whether a broken limit was kept before, or is missed by more; what is unsafe already is never made worse.

    The computed shortest length only warns: where it is broken already, the mark on the arrow decides.
    """
    if before.state is not LimitState.BROKEN:
        return True
    return not after.warning_only and _missed_by(after) > _missed_by(before) + _NOTHING


def _missed_by(limit: Limit) -> float:
    return 0.0 if limit.bound is None else abs(limit.present - limit.bound)


def _cut(move: Move, situation: Situation, diagnosis: Diagnosis, lines: Lines) -> Iterator[str]:
    if _reads_stiff(uncut(move, situation.now), situation, diagnosis, lines):
        yield "the arrow reads stiff, and a stiff arrow is never cut"
    if situation.safe_length is None:
        yield NO_MARK
    if not checks_done(situation):
        yield "the bow check and the contact check are not complete, and contact looks like spine"
    elif not checks_clean(situation):
        yield "a check found something wrong, which must be put right first"
    if count_checkable(situation.history) < 1:
        yield NOT_CHECKED
    elif diagnosis.checked is not None and not diagnosis.checked.came_true:
        yield FAILED
    yield from _not_shown(diagnosis)


def _not_shown(diagnosis: Diagnosis) -> Iterator[str]:
    """Why the shots do not show enough to spend a shaft on them."""
    if diagnosis.reading is None:
        yield "the present setup has not been shot yet"
    elif diagnosis.reading.beyond_chance > 0.1:
        yield BY_CHANCE
    if shots_to_know(diagnosis.scatter[2], GOOD_GAP) > MOST_SHOTS:
        yield TOO_WIDE
    if diagnosis.conflict or diagnosis.collapsed:
        yield "what was seen does not fit together well enough to spend a shaft on"


def _reads_stiff(setup: Setup, situation: Situation, diagnosis: Diagnosis, lines: Lines) -> bool:
    """The bare holes lie on the stiff side of the aim, or the arrow is more likely too stiff than too weak.

    With the present setup the holes themselves are asked; with limb bolts or rest put back, what is believed of them.
    """
    if diagnosis.weak < 0.5:
        return True
    if setup == situation.now:
        reading = diagnosis.reading
        return reading is not None and reading.gap[0] - situation.aim[0] > reading.sd
    return float(np.mean(lines.gap(setup)[:, 0] > situation.aim[0])) > 0.2


def _sideways(move: Move, situation: Situation, diagnosis: Diagnosis) -> Iterator[str]:
    """The rest may not stray far from the recorded centre shot, nor be walked off to hide a wrong spine."""
    assert move.after is not None  # noqa: S101 - a move of the rest always leads to a setup
    start = situation.history.start.rest_y
    before, after = abs(situation.now.rest_y - start), abs(move.after.rest_y - start)
    if after <= before:
        return
    if strays(before, after, STRAY[situation.purpose]):
        yield "the rest would stray too far from its recorded centre shot"
    spine = next(s.probability for s in diagnosis.causes if s.cause is Cause.SPINE)
    far = np.hypot(*diagnosis.gap.middle) > 2 * GOOD_GAP
    if far and spine > SURELY_SPINE and count_checkable(situation.history) > 0:
        yield HIDES


def _height(move: Move, situation: Situation) -> Iterator[str]:
    assert move.after is not None  # noqa: S101 - a move of rest or nock point always leads to a setup
    start, now = situation.history.start, situation.now
    for place in ("rest_z", "nock_z"):
        before, after = (getattr(s, place) - getattr(start, place) for s in (now, move.after))
        if strays(before, after, STRAY_HEIGHT):
            yield "rest or nock point would stray too far from the height where it began"
    check = situation.history.bow_check
    if check is None or any(getattr(check, item) is not True for item in _HEIGHT_ITEMS):
        yield "height is trimmed only after cam timing, nock height and rest drop are right"
