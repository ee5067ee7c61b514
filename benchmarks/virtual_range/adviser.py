"""The adviser as a player: the product's own advice, asked with a situation built in memory."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from benchmarks.virtual_range.bench import Act, Bench, Choice, Notes
from benchmarks.virtual_range.without import Without, eyes, without
from spinewright.advice import Advice, MoveKind, Situation, advise, ground_for
from spinewright.belief import Belief, BeliefSettings, count_checkable
from spinewright.equipment import Setup
from spinewright.units import INCH

__all__ = ["QUICK", "Adviser"]

QUICK = BeliefSettings(bows=100, particles=150, seed=20)

_PLAIN = {
    MoveKind.CHECK_BOW: Act.CHECK_BOW,
    MoveKind.CHECK_CONTACT: Act.CHECK_CONTACT,
    MoveKind.MARK_LENGTH: Act.MARK,
}
_COUNTED = {MoveKind.SHOOT: Act.SHOOT, MoveKind.SET_ASIDE: Act.SET_ASIDE}


@dataclass(frozen=True, slots=True)
class Adviser:
    """Asks for advice before every act. ``part`` names what is left out of it for an ablation."""

    settings: BeliefSettings = QUICK
    part: Without = Without.NOTHING

    def choose(self, bench: Bench) -> Choice:
        """The one next move, with what was stated about it."""
        world = bench.world
        situation = Situation(
            world.archer,
            eyes(bench.history, self.part),
            heads_owned=world.truth.heads,
            safe_length=bench.safe_length,
        )
        with without(self.part):
            advice = advise(situation, ground_for(situation, self.settings))
            notes = _notes(advice, bench)
        return replace(_as_choice(advice), notes=notes)


def _as_choice(advice: Advice) -> Choice:
    move, why = advice.move.move, advice.why
    if move.kind in _PLAIN:
        return Choice(_PLAIN[move.kind], why=why)
    if move.kind in _COUNTED:
        return Choice(_COUNTED[move.kind], amount=round(move.amount), why=why)
    if move.after is not None:
        return Choice(Act.CHANGE, after=move.after, why=f"{move.kind} ({why})")
    if move.kind is MoveKind.TURN_NOCK:
        return Choice(Act.SERIES, why=why)
    if move.kind is MoveKind.TECHNICIAN and why == "bow wrong":
        return Choice(Act.TECHNICIAN, why=why)
    return Choice(Act.STOP, why={"within": "tuned"}.get(why, why))


def _notes(advice: Advice, bench: Bench) -> Notes:
    """What was believed and stated: the present gap, the main cause, and the forecasts to be held against the truth."""
    diagnosis, belief = advice.diagnosis, advice.belief
    reading = diagnosis.reading
    notes: Notes = {
        "believed": [round(v / INCH, 2) for v in diagnosis.gap.middle],
        "within": round(diagnosis.within, 3),
        "weak": round(diagnosis.weak, 3),
        "weak_by": [round(v / INCH, 2) for v in diagnosis.weak_by],
        "cause": str(diagnosis.causes[0].cause),
        "read": None if reading is None else [round(v / INCH, 2) for v in reading.gap],
        "stage": count_checkable(bench.history),
        "conflict": diagnosis.conflict,
        "spent": round(advice.spent, 4),
    }
    move = advice.move.move
    if move.after is not None and move.after in belief.ground.setups:  # a turned nock is not forecast
        notes["forecast"] = _interval(belief, move.after)
        notes["short"] = round(advice.move.too_short, 4)
    cut = _half_inch(advice)
    if cut is not None:
        notes["cut_forecast"] = _interval(belief, cut)
        notes["cut_setup"] = cut
    return notes


def _interval(belief: Belief, setup: Setup) -> list[list[float]]:
    """Central 80 % of the true gap [m] with ``setup``: low and high of each plane."""
    return np.quantile(belief.gap(setup), (0.1, 0.9), axis=0).tolist()  # type: ignore[no-any-return]


def _half_inch(advice: Advice) -> Setup | None:
    """The setup after half an inch off with nothing else changed, proposed or not."""
    ground = advice.belief.ground
    moves = [advice.move.move, *(w.move for w in advice.others), *(r.move for r in advice.refused)]
    cuts = [m.after for m in moves if m.kind is MoveKind.CUT and abs(m.amount + 0.5 * INCH) < 1e-9]
    return next((c for c in cuts if c is not None and c in ground.setups), None)
