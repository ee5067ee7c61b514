"""Reads the answers of the proof into what was shot, in SI and the right-handed frame."""

from __future__ import annotations

from dataclasses import dataclass

from spinewright.errors import InputError, Place
from spinewright.evidence.values import Impact, TargetKind, Visit
from spinewright.units import Hand, Kind, parse_offset
from spinewright.workflow.around.answers import Answers, Row

__all__ = ["Plan", "plan_of", "shot_ends", "torqued", "walked"]

_MOST_END = 400
_WHERE = "write for example 'right 0.4 in and high 0.1 in'"
_WHEN = ("before", "after")


@dataclass(frozen=True, slots=True)
class Plan:
    """How the proof is shot.

    change [1] worth knowing;  distance [m];  end arrows an end;  seed of the order
    needed     ends of EACH that tell such a change;  today ends of each in one day before the archer tires
    first      number of today's first end
    """

    change: float
    distance: float
    end: int
    seed: int
    needed: int
    today: int
    first: int

    @property
    def shot(self) -> int:
        """Ends of each that are planned for a day."""
        return min(self.needed, self.today)

    @property
    def days(self) -> int:
        """Days it takes."""
        return -(-self.needed // self.today)


def plan_of(answers: Answers, distance: float) -> Plan:
    """The plan; ``distance`` [m] where none is answered. Raises InputError."""
    from spinewright.evidence.proving import ends_to_tell

    change = answers.quantity("change")
    if not 0.02 <= change <= 0.8:
        raise InputError("such a change cannot be asked for", "write 2 % to 80 %", Place(field="change"))
    end = answers.whole_between("end", 3, 12)
    most = answers.whole_between("most", 2 * end, 400)
    seed = answers.whole_between("seed", 0, 10**9)
    far = answers.maybe("distance") or distance
    if not 5.0 <= far <= 100.0:
        raise InputError("no groups are shot from there", "write 6 to 109 yd", Place(field="distance"))
    return Plan(
        change,
        far,
        end,
        seed,
        ends_to_tell(1.0 - change, end),
        most // (2 * end),
        answers.whole_between("from-end", 1, _MOST_END),
    )


def shot_ends(answers: Answers, plan: Plan, hand: Hand) -> list[Visit]:
    """The ends of the answered table, marked before or after by the sealed order. Raises InputError with its line."""
    from spinewright.evidence.proving import mixed_order

    ends: dict[int, list[Impact]] = {}
    for row in answers.table("holes", ("end", "where"), ("bad",)):
        number = row.number("end")
        if number is None or not number.is_integer() or not 1 <= number <= _MOST_END:
            raise InputError(f"an end has a whole number from 1 to {_MOST_END}", "number the ends", row.place("end"))
        impacts = ends.setdefault(int(number), [])
        impacts.append(_impact(row, len(impacts) + 1, hand))
    order = mixed_order(max(ends, default=0), plan.seed)
    return [Visit(plan.distance, TargetKind.UNKNOWN, tuple(ends[k]), purpose=_WHEN[order[k - 1]]) for k in sorted(ends)]


def walked(answers: Answers, hand: Hand) -> dict[str, list[tuple[float, float]]]:
    """Distance and sideways place of every hole of the walk-back [m], by 'before' and 'after'."""
    found: dict[str, list[tuple[float, float]]] = {}
    for row in answers.table("walk-back", ("distance", "where"), ("when",)):
        distance = row.quantity("distance", Kind.DISTANCE)
        if distance is None or not 1.5 <= distance <= 100.0:
            raise InputError("a distance is missing or cannot be", "write for example 30 yd", row.place("distance"))
        found.setdefault(_when(row), []).append((distance, _hole(row, hand)[0]))
    return found


def torqued(answers: Answers, hand: Hand) -> dict[str, dict[str, list[float]]]:
    """Sideways place of every hole [m] by 'before' and 'after', and by the hand's turn in the right-handed frame."""
    found: dict[str, dict[str, list[float]]] = {}
    mirrored = {"left": "right", "right": "left"} if hand is Hand.LEFT else {}
    for row in answers.table("torque", ("turned", "where"), ("when",)):
        turned = row.text("turned").lower()
        if turned not in ("left", "right"):
            raise InputError(f"'{turned}' is no turn of the hand", "write left or right", row.place("turned"))
        ways = found.setdefault(_when(row), {"left": [], "right": []})
        ways[mirrored.get(turned, turned)].append(_hole(row, hand)[0])
    return found


def _when(row: Row) -> str:
    when = row.text("when").lower() or "after"
    if when not in _WHEN:
        raise InputError(f"'{when}' is neither before nor after", "write before or after", row.place("when"))
    return when


def _hole(row: Row, hand: Hand) -> tuple[float, float]:
    try:
        return parse_offset(row.text("where"), hand)
    except InputError as error:
        raise InputError(error.what, _WHERE, row.place("where")) from None


def _impact(row: Row, shaft: int, hand: Hand) -> Impact:
    y, z = _hole(row, hand)
    bad = row.text("bad").lower()
    if bad not in ("", "bad", "yes", "no"):
        raise InputError(f"'{bad}' does not say whether it was called bad", "write bad, or nothing", row.place("bad"))
    try:
        return Impact(shaft, False, y, z, called_bad=bad in ("bad", "yes"))
    except InputError as error:
        raise InputError(error.what, error.right, row.place("where")) from None
