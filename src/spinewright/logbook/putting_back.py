"""Says how to put the bow and the arrows back to the recorded start, in the archer's own words."""

from __future__ import annotations

from spinewright.logbook.state import BenchState, Knob, LedgerEntry
from spinewright.units import Hand, Kind, counted, show, side_word

__all__ = ["put_back"]

_SIDEWAYS = (Knob.REST_SIDEWAYS, Knob.SIGHT_SIDEWAYS)
_NAMES = {
    Knob.REST_SIDEWAYS: "Rest",
    Knob.REST_HEIGHT: "Rest",
    Knob.NOCK_POINT: "Nock point",
    Knob.SIGHT_SIDEWAYS: "Sight",
    Knob.SIGHT_HEIGHT: "Sight",
}
_SMALLEST = 1e-6  # m, rad or turns: less than this is nothing


def put_back(state: BenchState) -> tuple[str, ...]:
    """One sentence for each knob that does not stand at its recorded start; cuts come last and cannot be put back."""
    last: dict[Knob, LedgerEntry] = {entry.knob: entry for entry in state.ledger}
    sentences = []
    for knob in Knob:
        if knob in last and knob is not Knob.LENGTH:
            sentences += _knob(knob, last[knob], state)
    start, now = state.start.build, state.now.build
    system = state.scope.system
    if now.head != start.head:
        sentences.append(f"Point: back to the {show(start.head.mass, Kind.MASS, system)} {start.head.kind}.")
    if now.shaft != start.shaft:
        sentences.append("Shaft: another one than at the start.")
    cut_off = sum(entry.measured or 0.0 for entry in state.ledger if entry.knob is Knob.LENGTH)
    if cut_off < -_SMALLEST:
        sentences.append(f"Cuts: {show(-cut_off, Kind.LENGTH, system)} in all, which cannot be put back.")
    return tuple(sentences)


def _knob(knob: Knob, entry: LedgerEntry, state: BenchState) -> list[str]:
    if knob is Knob.LIMB_BOLTS:
        turns = entry.total or 0.0
        if abs(turns) < _SMALLEST:
            return []
        return [f"Both limb bolts: {counted(turns, 'turn')} {'out' if turns > 0 else 'in'}; then weigh the bow."]
    if knob is Knob.NOCK:
        angle = (entry.total or 0.0) * state.scope.hand.sideways_sign
        word = "counterclockwise" if angle > 0 else "clockwise"
        size = show(abs(angle), Kind.ANGLE, state.scope.system)
        return [f"Nocks: {size} {word}, seen from behind."] if abs(angle) >= _SMALLEST else []
    return _offset(knob, entry, state)


def _offset(knob: Knob, entry: LedgerEntry, state: BenchState) -> list[str]:
    amounts = []
    sign = 0.0
    if entry.total_clicks is not None:
        sign = entry.total_clicks
        amounts.append(counted(sign, "click"))
    if entry.total is not None:
        sign = entry.total or sign
        amounts.append(show(abs(entry.total), Kind.LENGTH, state.scope.system, digits=3))
    if not amounts:
        return [f"{_NAMES[knob]}: how far it was moved is not known; set it by the recorded start."]
    if abs(sign) < _SMALLEST:
        return []
    word = _back_word(knob, sign, state.scope.hand)
    size = amounts[0] + (f" ({amounts[1]})" if len(amounts) == 2 else "")
    return [f"{_NAMES[knob]}: {size} {word}."]


def _back_word(knob: Knob, moved: float, hand: Hand) -> str:
    if knob in _SIDEWAYS:
        return side_word(-moved, hand)
    return "down" if moved > 0 else "up"
