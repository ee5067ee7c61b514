"""The one next move: what must come first, then what is worth most among what is allowed."""

from __future__ import annotations

from collections.abc import Callable, Sequence, Set
from dataclasses import dataclass, replace

import numpy as np

from spinewright.advice.budget import added_risk, over_budget, spent_so_far, stiffens_for_good
from spinewright.advice.diagnosis import MOST_SHOTS, Diagnosis, diagnose
from spinewright.advice.first_things import arrows_shot, first_things, shots_here
from spinewright.advice.gates import HIDES, gate
from spinewright.advice.moves import Move, MoveKind, changes, further, probes, rest_where, shoot, step_back, uncut
from spinewright.advice.situation import Situation
from spinewright.advice.trimming import Lines, trims
from spinewright.advice.weighing import CHECKING_SHOTS, GOOD_GAP, TRIMS, Weighed, judge, walk_of, weigh, work_left
from spinewright.belief import (
    Belief,
    BeliefSettings,
    Cause,
    Ground,
    Recall,
    break_ground,
    check_last,
    count_checkable,
)
from spinewright.equipment import Purpose, Setup, TimeAtHand
from spinewright.evidence import Visit, bow_check_state
from spinewright.units import INCH

__all__ = ["Advice", "Refused", "advise", "ground_for"]

#: A gap at least this likely to be under an inch is worth another walk of so many bare arrows before the bow is left
#: as it is (judgement; tried on the range, docs/decisions/0004).
PERHAPS, KNOWING_SHOTS = 0.35, 3
#: From so many arrows of a hunt on, bare and fletched, SURE is enough: more cost more than they tell (decision 0004).
WEARY = 60
#: What is still done with a gap that is likely near enough.
_MAKES_SURER = TRIMS | {MoveKind.SHOOT, MoveKind.PUT_BACK, MoveKind.STOP}
#: What brings a gap nearer that lies far beyond an archer's scatter too wide for the test: all of it can be put back.
_BRINGS_NEARER = TRIMS | {MoveKind.BOLTS, MoveKind.PUT_BACK, MoveKind.STOP}
#: So likely is such a gap over two inches, all that was seen of this bow weighed.
SURELY_FAR = 0.95
#: So many bare arrows with one setup are a sitting's worth: from then on no more are asked for.
SITTING = 2 * MOST_SHOTS

#: Sure enough to stop where no more arrows may be shot: the gap is under GOOD_GAP with this probability.
SURE = 0.8
#: As long as more arrows or a trim can still tell, 'tuned' waits for this: on the range 76 % of the hunts that ended
#: when told 80 to 90 % were right (docs/decisions/0004). One walk with a setup is enough from this on.
TUNED = 0.9
#: A change must make the gap smaller with at least this probability: what is lost for good, what can be put back, and
#: the rest, where either way may have to be tried (common practice).
LIKELY, LIKELY_PROBE, LIKELY_REST = 0.6, 0.4, 0.35
#: Bare shafts this near to the fletched ones at 20 yd may be shot from further away.
STEP_BACK_GAP = 2.0 * INCH
#: A cut under this is proposed only where its effect shows: at least SHOWS at 20 yd.
SMALL_CUT = 0.4 * INCH
SHOWS = 0.4 * INCH


@dataclass(frozen=True, slots=True)
class Refused:
    """A move that is not proposed, and the one sentence why."""

    move: Move
    reason: str


@dataclass(frozen=True, slots=True)
class Advice:
    """Diagnosis, the one next move, what else could be done, and what may not.

    why    which rule or weighing chose the move, as a plain key for the words
    others weighed moves not chosen, best first
    spent  share of the hunt's budget for ending too short that earlier cuts and lighter points have used
    """

    diagnosis: Diagnosis
    move: Weighed
    why: str
    others: tuple[Weighed, ...]
    refused: tuple[Refused, ...]
    spent: float
    belief: Belief


def candidate_moves(situation: Situation) -> tuple[Move, ...]:
    """Every change within reach, and the way back from the last one."""
    found = list(changes(situation))
    back = _put_back(situation)
    if back is not None:
        found = [back, *(m for m in found if m.after != back.after)]
    return tuple(found)


def _put_back(situation: Situation) -> Move | None:
    """The setup before the last change, when nothing was cut or rebuilt since and it was not come back to already."""
    if [situation.history.start, *situation.history.setups].count(situation.now) > 1:
        return None
    seen = [item.setup for item in situation.history.seen if isinstance(item.what, Visit)]
    before = next((s for s in reversed(seen) if s != situation.now), None)
    if before is None or before.build != situation.now.build or before.bow != situation.now.bow:
        return None
    return Move(MoveKind.PUT_BACK, before, 0.0, 8.0)


def ground_for(
    situation: Situation,
    settings: BeliefSettings | None = None,
    *,
    progress: Callable[[float], None] | None = None,
) -> Ground:
    """The physics of everything seen and of every candidate, with the rest where it is and a small step away."""
    now = situation.now
    moves = candidate_moves(situation)
    after = [rest_where(m.after, now) for m in moves if m.after is not None]
    after += [rest_where(uncut(m, now), now) for m in moves if m.kind is MoveKind.CUT]
    near = [setup for setup, _ in probes(now)]
    far = (further(situation),)
    return break_ground(
        situation.history, [*near, *after], (situation.distance,), settings, further=far, progress=progress
    )


def advise(situation: Situation, ground: Ground) -> Advice:
    """The advice for a situation whose physics is in ``ground`` (see :func:`ground_for`)."""
    recall = Recall(ground, situation.history, situation.archer)
    belief = recall.before(len(situation.history.seen))
    checked = check_last(recall)
    diagnosis = diagnose(belief, situation, checked)
    lines = Lines(belief, situation)
    trimmed = trims(lines, situation, lambda gap: work_left(gap, situation.aim))
    moves = [
        *candidate_moves(situation),
        *trimmed,
        *_shooting(belief, diagnosis, situation),
        Move(MoveKind.STOP, None, 0.0, 0.0),
    ]
    # Of moves that lead to the same setup the first is kept.
    moves = list({m.after or m: m for m in reversed(moves)}.values())[::-1]
    spent = spent_so_far(recall)
    refused = _refusals(lines, situation, diagnosis, moves, spent)
    later = _refusals(lines, situation, diagnosis, moves, spent, ahead=True)
    rng = np.random.default_rng([ground.settings.seed, 4])
    judged = judge(situation, lines, moves)
    follow = [w.move for w in judged if w.move not in later and _likely_enough(w)]
    weighed = weigh(situation, lines, judged, follow, rng)
    hiding = _nothing_else(situation, weighed, refused, later)
    refused = {move: reason for move, reason in refused.items() if move not in hiding}
    marked = situation if situation.safe_length is not None else replace(situation, safe_length=0.0)
    refused_marked = _refusals(lines, marked, diagnosis, moves, spent)
    chosen, why = _choose(situation, diagnosis, weighed, refused, refused_marked)
    if chosen.move in hiding:
        why = "only the rest"
    if chosen.move.kind is MoveKind.SHOOT:  # what is known of where fletched ones go spares some of them
        chosen = replace(chosen, move=walk_of(belief, round(chosen.move.amount)))
    return Advice(
        diagnosis=diagnosis,
        move=chosen,
        why=why,
        others=tuple(w for w in weighed if w.move != chosen.move and w.move not in refused),
        refused=tuple(Refused(m, r) for m, r in refused.items()),
        spent=spent,
        belief=belief,
    )


def _shooting(belief: Belief, diagnosis: Diagnosis, situation: Situation) -> list[Move]:
    """Walks of several sizes, as long as one sitting's worth of arrows has not been shot with this setup.

    From further away only where a bare shaft is near sure not to stray far, and with the whole afternoon.
    """
    left = SITTING - shots_here(situation)
    numbers = {2, CHECKING_SHOTS, 4, 6, max(diagnosis.shots_needed, 2)}
    walks = [walk_of(belief, n) for n in sorted({min(n, left) for n in numbers}) if n >= 2]
    near = float(np.mean(np.hypot(*belief.gap(situation.now).T) < STEP_BACK_GAP)) > SURE
    if walks and near and diagnosis.reading is not None and situation.time is TimeAtHand.AFTERNOON:
        walks.append(step_back(situation))
    return walks


def _refusals(
    lines: Lines,
    situation: Situation,
    diagnosis: Diagnosis,
    moves: Sequence[Move],
    spent: float,
    *,
    ahead: bool = False,
) -> dict[Move, str]:
    refused = {}
    for move in moves:
        reason = gate(move, situation, diagnosis, lines, ahead=ahead)
        if not reason and move.after is not None and stiffens_for_good(move):
            reason = over_budget(added_risk(lines.belief, situation.now, move.after), spent, situation.budget)
        if not reason and move.kind is MoveKind.CUT and abs(move.amount) < SMALL_CUT:
            reason = _small_cut_reason(lines, uncut(move, situation.now), move)
        if reason:
            refused[move] = reason
    return refused


def _nothing_else(
    situation: Situation, weighed: Sequence[Weighed], refused: dict[Move, str], later: dict[Move, str]
) -> frozenset[Move]:
    """Moves of the rest that hide a wrong spine, where nothing that is allowed of the arrow is likely to mend it.

    With fixed blades a hidden spine is no tune, so there none.
    """
    mending = (MoveKind.CUT, MoveKind.POINT, MoveKind.BOLTS)
    if situation.purpose is Purpose.FIXED_BLADES or any(
        w.move.kind in mending and w.move not in later and w.worth > 0.0 and _likely_enough(w) for w in weighed
    ):
        return frozenset()
    return frozenset(move for move, reason in refused.items() if reason == HIDES)


def _small_cut_reason(lines: Lines, now: Setup, move: Move) -> str:
    """A step under half an inch is proposed only where the learnt slope says that it shows on the target."""
    assert move.after is not None  # noqa: S101 - a cut always leads to a setup
    change = np.median(np.hypot(*(lines.gap(move.after) - lines.gap(now)).T))
    return "" if change >= SHOWS else "so small a cut would not show on the target"


def _choose(
    situation: Situation,
    diagnosis: Diagnosis,
    weighed: Sequence[Weighed],
    refused: dict[Move, str],
    refused_marked: dict[Move, str],
) -> tuple[Weighed, str]:
    """The move and the key of its reason: what must come first, else what is worth most.

    ``refused_marked`` is what would be refused were the shortest safe length marked: the rest waits for the mark alone.
    """
    stop = next(w for w in weighed if w.move.kind is MoveKind.STOP)
    allowed = [w for w in weighed if w.move not in refused]
    first = _first(situation, diagnosis, weighed, allowed)
    if first is not None:
        return first
    if diagnosis.within >= TUNED:
        return _near_enough(situation, diagnosis, stop)
    if diagnosis.within >= SURE:
        surer = _surer(situation, diagnosis, stop, allowed)
        return surer or _near_enough(situation, diagnosis, stop)
    if diagnosis.reading is not None and diagnosis.reading.beyond_chance > 0.1:
        left = min(max(CHECKING_SHOTS, diagnosis.shots_needed), MOST_SHOTS) - shots_here(situation)
        if left > 0:
            return replace(stop, move=shoot(max(left, 2)), worth=0.0), "chance"
    best = _worth_most(allowed, frozenset(MoveKind))
    waiting = [w for w in weighed if w.move in refused and w.move not in refused_marked and _likely_enough(w)]
    worth = 0.0 if best is None else best.worth
    if any(w.worth > worth for w in waiting) or _mark_now(situation, diagnosis):
        return replace(stop, move=Move(MoveKind.MARK_LENGTH, None, 0.0, 5.0), worth=0.0), "mark"
    if best is not None:
        return best, "worth"
    if _worth_knowing(situation, diagnosis):
        return replace(stop, move=shoot(KNOWING_SHOTS), worth=0.0), "not sure yet"
    return _nothing_better(diagnosis, stop, refused)


def _nearer(situation: Situation, diagnosis: Diagnosis, allowed: Sequence[Weighed]) -> tuple[Weighed, str] | None:
    """A change that can be put back, where the test cannot show an inch but shows a gap far beyond the scatter.

    ``allowed`` is best first. Nothing lasting is done to an arrow on the word of such an archer.
    """
    reading = diagnosis.reading
    surely = reading is not None and reading.beyond_chance <= 0.1 and diagnosis.far >= SURELY_FAR
    if not surely or not _fresh(situation):
        return None
    best = _worth_most(allowed, _BRINGS_NEARER)
    return None if best is None else (best, "nearer")


def _surer(
    situation: Situation, diagnosis: Diagnosis, stop: Weighed, allowed: Sequence[Weighed]
) -> tuple[Weighed, str] | None:
    """What makes a gap that is likely near enough surely so: a trim that can be put back, or arrows; None = nothing.

    ``allowed`` is best first. Nothing lasting is done to an arrow that is most likely right.
    """
    if not _fresh(situation):
        return None
    best = _worth_most(allowed, _MAKES_SURER)
    if best is not None:
        return best, "worth"
    if _worth_knowing(situation, diagnosis):
        return replace(stop, move=shoot(KNOWING_SHOTS), worth=0.0), "nearly sure"
    return None


def _fresh(situation: Situation) -> bool:
    """Whether there is time, and arms are left, for more than the least."""
    return situation.time is TimeAtHand.AFTERNOON and arrows_shot(situation) < WEARY


def _worth_most(allowed: Sequence[Weighed], kinds: Set[MoveKind]) -> Weighed | None:
    """The first likely move of those ``kinds`` in ``allowed``, best first; None where stopping is worth as much."""
    best = next(w for w in allowed if w.move.kind in kinds and _likely_enough(w))
    return best if best.worth > 0.0 and best.move.kind is not MoveKind.STOP else None


def _worth_knowing(situation: Situation, diagnosis: Diagnosis) -> bool:
    """Whether nothing seems worth doing only because it is not known well enough: likely near, and not yet sure."""
    if situation.time is not TimeAtHand.AFTERNOON or diagnosis.conflict:
        return False
    return diagnosis.within >= PERHAPS and shots_here(situation) + KNOWING_SHOTS <= SITTING


def _first(
    situation: Situation, diagnosis: Diagnosis, weighed: Sequence[Weighed], allowed: Sequence[Weighed]
) -> tuple[Weighed, str] | None:
    """What must come before anything that is weighed, if there is such a thing."""
    stop = next(w for w in weighed if w.move.kind is MoveKind.STOP)
    for move, why in first_things(situation, diagnosis):
        if why == "not shot":
            return next(w for w in weighed if w.move.kind is MoveKind.SHOOT), why
        if why == "archer":
            return _nearer(situation, diagnosis, allowed) or (replace(stop, move=move, worth=0.0), why)
        return replace(stop, move=move, worth=0.0), why
    return None


def _near_enough(situation: Situation, diagnosis: Diagnosis, stop: Weighed) -> tuple[Weighed, str]:
    """Tuned, as far as the shots say; on one walk only where it is near sure and came as foretold, else shot again."""
    reading, checked = diagnosis.reading, diagnosis.checked
    missed = checked is not None and not checked.came_true and checked.after == situation.now
    once = reading is not None and reading.walks < 2 and situation.time is not TimeAtHand.SHORT
    if once and (missed or diagnosis.within < TUNED):
        return replace(stop, move=shoot(CHECKING_SHOTS), worth=0.0), "once more" if missed else "one walk"
    if diagnosis.conflict:
        return stop, "conflict, yet near"
    return _check_again(situation, stop) or (stop, "within")


def _check_again(situation: Situation, stop: Weighed) -> tuple[Weighed, str] | None:
    """Bow and contact check once more before a tune is called finished, when something was changed since."""
    history = situation.history
    if history.checked_since_change or situation.time is not TimeAtHand.AFTERNOON:
        return None
    if bow_check_state(history.bow_check_since).missing:
        return replace(stop, move=Move(MoveKind.CHECK_BOW, None, 0.0, 5.0), worth=0.0), "check again"
    return replace(stop, move=Move(MoveKind.CHECK_CONTACT, None, 0.0, 5.0), worth=0.0), "powder again"


def _mark_now(situation: Situation, diagnosis: Diagnosis) -> bool:
    """Whether a cut is likely to come up soon: a weak reading, most likely the arrow's, with one prediction checked."""
    if situation.safe_length is not None or situation.time is not TimeAtHand.AFTERNOON:
        return False
    spine = next(s.probability for s in diagnosis.causes if s.cause is Cause.SPINE)
    reading = diagnosis.reading
    weak = reading is not None and reading.gap[0] < situation.aim[0] - reading.sd and diagnosis.weak > SURE
    return weak and spine > 0.5 and count_checkable(situation.history) > 0


def _nothing_better(diagnosis: Diagnosis, stop: Weighed, refused: dict[Move, str]) -> tuple[Weighed, str]:
    """No change within reach gains more than it costs: stop, or say what is out of reach."""
    cut_refused = any(m.kind is MoveKind.CUT and "too short" in why for m, why in refused.items())
    if cut_refused and diagnosis.reading is not None and diagnosis.reading.walks < 3 and diagnosis.weak > SURE:
        return replace(stop, move=shoot(6), worth=0.0), "budget"
    if diagnosis.conflict:
        return stop, "conflict stays"
    far = np.hypot(*diagnosis.gap.middle) > 2 * GOOD_GAP
    if far and diagnosis.causes[0].cause is Cause.TRAVEL:
        return replace(stop, move=Move(MoveKind.TECHNICIAN, None, 0.0, 60.0)), "hidden travel"
    if far and diagnosis.causes[0].cause is Cause.SPINE and not 0.1 < diagnosis.weak < 0.9:
        way = -1.0 if diagnosis.weak > 0.5 else 1.0
        return replace(stop, move=Move(MoveKind.OTHER_SHAFT, None, way, 90.0)), "out of reach"
    return stop, "no better"


def _likely_enough(weighed: Weighed) -> bool:
    """Whether a change makes the gap smaller often enough to be proposed; the bar is lower for what can be put back."""
    move = weighed.move
    if move.after is None:
        return True
    if move.cannot_undo or stiffens_for_good(move):
        return weighed.better >= LIKELY
    return weighed.better >= (LIKELY_REST if move.kind in TRIMS else LIKELY_PROBE)
