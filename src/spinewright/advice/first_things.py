"""What must come before any weighing: faults found, checks, the nock, shots with the present setup, the archer."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from spinewright.advice.diagnosis import Diagnosis
from spinewright.advice.moves import Move, MoveKind, shoot
from spinewright.advice.situation import Situation
from spinewright.advice.weighing import CHECKING_SHOTS, GOOD_GAP
from spinewright.belief import GAP_DISTANCE, usable
from spinewright.equipment import LimitKind, LimitState, TimeAtHand, safety_limits
from spinewright.evidence import NockSeries, Tear, Visit, bow_check_state, contact_check_state, odd_shaft

__all__ = ["ENOUGH", "arrows_shot", "first_things", "newly_odd", "shots_here"]

#: So many of each with a setup and still a conflict: more of the same will not settle it, but what can be put back may
#: be tried.
ENOUGH = 9


def first_things(situation: Situation, diagnosis: Diagnosis) -> Iterator[tuple[Move, str]]:
    """What must come before any weighing, in order."""
    if unsafe(situation):
        yield Move(MoveKind.MAKE_SAFE, None, 0.0, 0.0), "unsafe"
    history = situation.history
    if bow_check_state(history.bow_check).wrong:
        yield Move(MoveKind.TECHNICIAN, None, 0.0, 60.0), "bow wrong"
    if contact_check_state(history.contact_check).wrong:
        yield Move(MoveKind.CHECK_CONTACT, None, 0.0, 10.0), "contact found"
    if situation.time is TimeAtHand.MATCH_TOMORROW:
        yield Move(MoveKind.KEEP, situation.last_good, 0.0, 0.0), "match"
    yield from _checks_first(situation)
    if not situation.rest_known:
        yield Move(MoveKind.MEASURE_REST, None, 0.0, 5.0), "rest unknown"
    odd = newly_odd(situation, diagnosis)
    if odd is not None:
        yield Move(MoveKind.SET_ASIDE, None, float(odd), 6.0), "odd"
    if _nock_first(situation):
        yield Move(MoveKind.TURN_NOCK, None, 0.0, 15.0), "nock first"
    turn = _clean_turn(situation, diagnosis)
    if turn is not None:
        yield turn, "nock found"
    yield from _shots_first(situation, diagnosis)


def _shots_first(situation: Situation, diagnosis: Diagnosis) -> Iterator[tuple[Move, str]]:
    """Shots with the present setup, and an archer and evidence that the test can use."""
    if diagnosis.reading is None:
        yield shoot(CHECKING_SHOTS), "not shot"
    elif _bare_shafts(situation) < 2:
        yield shoot(CHECKING_SHOTS), "one bare"
    if diagnosis.shows_archer:
        yield Move(MoveKind.SHOOTER, None, float(diagnosis.shots_needed), 0.0), "archer"
    if (diagnosis.conflict or diagnosis.collapsed) and shots_here(situation) < ENOUGH:
        yield shoot(6), "conflict"


def shots_here(situation: Situation) -> int:
    """How many bare arrows that count were shot with the present setup."""
    visits = [i.what for i in situation.history.seen if isinstance(i.what, Visit) and i.setup == situation.now]
    return sum(len(usable(visit.impacts, bare=True)) for visit in visits)


def arrows_shot(situation: Situation) -> int:
    """How many arrows, bare and fletched, were shot at a target in the whole hunt."""
    return sum(len(item.what.impacts) for item in situation.history.seen if isinstance(item.what, Visit))


def unsafe(situation: Situation) -> bool:
    """Whether the arrow as it stands must not be shot: too light, too weak, or shorter than its mark."""
    now = situation.now
    for bare in (False, True):
        for limit in safety_limits(now, bare=bare):
            if limit.state is LimitState.BROKEN and limit.what in _DO_NOT_SHOOT:
                return True
    return situation.safe_length is not None and now.build.carbon_length < situation.safe_length - 1e-6


_DO_NOT_SHOOT = (LimitKind.ARROW_MASS, LimitKind.WEAKEST_SPINE)


def _checks_first(situation: Situation) -> Iterator[tuple[Move, str]]:
    """The bow check before the first shot, the contact check before the first conclusion."""
    history = situation.history
    bow, powder = bow_check_state(history.bow_check), contact_check_state(history.contact_check)
    if bow.missing:
        yield Move(MoveKind.CHECK_BOW, None, 0.0, 5.0), "unchecked"
    if not history.seen:
        yield shoot(CHECKING_SHOTS), "nothing shot"
    if powder.missing:
        yield Move(MoveKind.CHECK_CONTACT, None, 0.0, 5.0), "contact unchecked"


def _nock_first(situation: Situation) -> bool:
    """A bare tear that counts, and the nock has not been turned yet: that comes before touching the rest."""
    seen = situation.history.seen
    series = [item for item in seen if isinstance(item.what, NockSeries)]
    if series:
        # After a cut the nock was seated anew: where turning it has helped before, its best angle is found again.
        start, now = situation.history.start, situation.now
        helped = now.nock_angle != start.nock_angle
        return helped and all(
            item.setup.build.carbon_length > situation.now.build.carbon_length + 1e-4 for item in series
        )
    tears = [s.what for s in seen if isinstance(s.what, Tear) and s.what.bare and s.what.counts]
    if not tears or any(s.setup.rest_y != situation.history.start.rest_y for s in seen):
        return False
    middle = np.mean([(t.tail_y, t.tail_z) for t in tears], axis=0)
    return bool(np.hypot(*middle) > 0.5 * GOOD_GAP)


def _clean_turn(situation: Situation, diagnosis: Diagnosis) -> Move | None:
    """The turn to the cleanest angle of the last series, when it is settled and the nocks do not stand there yet."""
    best = diagnosis.nock
    if best is None or not best.settled or best.gain_low <= 0.0:
        return None
    now = situation.now
    turn = float(np.angle(np.exp(1j * (best.angle - now.nock_angle))))
    if abs(turn) < np.deg2rad(15):
        return None
    angle = float(np.angle(np.exp(1j * (now.nock_angle + turn))))
    return Move(MoveKind.TURN_NOCK, replace(now, nock_angle=angle), turn, 10.0)


def newly_odd(situation: Situation, diagnosis: Diagnosis) -> int | None:
    """The bare shaft that the last walk showed to lie well apart from its fellows; said once, not after every walk."""
    odd = diagnosis.odd
    if not odd.is_odd or odd.shaft is None or np.hypot(odd.y, odd.z) * GAP_DISTANCE < GOOD_GAP:
        return None
    visits = [item.what for item in situation.history.seen if isinstance(item.what, Visit)]
    if not any(i.shaft == odd.shaft and i.bare for i in visits[-1].impacts):
        return None
    before = odd_shaft(visits[:-1], bare=True, level=0.01)
    return None if before.is_odd and before.shaft == odd.shaft else odd.shaft


def _bare_shafts(situation: Situation) -> int:
    """How many different bare shafts of this kind were shot so far."""
    numbers = {
        impact.shaft
        for item in situation.history.seen
        if isinstance(item.what, Visit) and item.setup.build.shaft == situation.now.build.shaft
        for impact in item.what.impacts
        if impact.bare and impact.counts
    }
    return len(numbers)
