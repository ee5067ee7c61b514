"""Pieces of sentences: gaps, sizes of moves and chances in plain words and the archer's own units."""

from __future__ import annotations

from fractions import Fraction

from spinewright.advice.moves import STEP_SHOTS, Move, MoveKind
from spinewright.belief import Forecast
from spinewright.equipment import HeadKind, Setup
from spinewright.units import INCH, Hand, Kind, System, height_word, show, side_word

__all__ = ["Style", "chance", "forecast_phrase", "gap_phrase", "length_phrase", "move_phrase", "put_back_phrase"]

_ADJUSTED = (MoveKind.REST_SIDEWAYS, MoveKind.REST_HEIGHT, MoveKind.REST_BOTH, MoveKind.NOCK_POINT)
#: Moves during which bare shafts are shot.
_SHOT_BARE = (
    MoveKind.SHOOT,
    MoveKind.CHECK_CONTACT,
    MoveKind.TURN_NOCK,
    MoveKind.SET_ASIDE,
    MoveKind.STEP_BACK,
)


class Style:
    """How one archer reads: which hand and which units."""

    def __init__(self, hand: Hand, system: System) -> None:
        self.hand = hand
        self.system = system

    def length(self, value: float) -> str:
        """A size on the target, to a tenth of an inch or a millimetre."""
        digits = 1 if self.system is System.INCH else 0
        return show(abs(value), Kind.LENGTH, self.system, digits=digits)

    @property
    def tuned(self) -> str:
        """The gap that counts as tuned."""
        return "an inch" if self.system is System.INCH else "25 mm"

    def distance(self, value: float) -> str:
        """A distance to a target, in whole yards or metres."""
        return show(value, Kind.DISTANCE, self.system, digits=0)

    def side(self, y: float) -> str:
        """'left' or 'right' of y in the right-handed frame."""
        return side_word(y, self.hand)


def chance(probability: float) -> str:
    """A probability in words a person can weigh, with the number."""
    percent = f"{100 * min(max(probability, 0.0), 1.0):.0f} %"
    if probability >= 0.995:
        return "nearly certain (over 99 %)"
    if probability >= 0.9:
        return f"very likely ({percent})"
    if probability >= 0.65:
        return f"likely ({percent})"
    if probability >= 0.35:
        return f"about even ({percent})"
    if probability >= 0.1:
        return f"unlikely ({percent})"
    return f"very unlikely ({percent})"


def gap_phrase(gap: tuple[float, float], style: Style, *, level: float = 0.15 * INCH) -> str:
    """'2.1 in left and 0.6 in high' for a gap [m]; parts under ``level`` [m] are left out."""
    y, z = gap
    parts = []
    if abs(y) >= level:
        parts.append(f"{style.length(y)} {style.side(y)}")
    if abs(z) >= level:
        parts.append(f"{style.length(z)} {height_word(z)}")
    return " and ".join(parts) if parts else "in line and level"


def forecast_phrase(forecast: Forecast, style: Style) -> str:
    """Where the bare holes should then lie, with the bounds that hold in four of five cases."""
    (y, z), (y0, z0), (y1, z1) = forecast.middle, forecast.low, forecast.high
    return (
        f"{gap_phrase((y, z), style)} (in four cases of five between {_signed(y0, style, sideways=True)} and "
        f"{_signed(y1, style, sideways=True)}, and between {_signed(z0, style)} and {_signed(z1, style)})"
    )


def _signed(value: float, style: Style, *, sideways: bool = False) -> str:
    if not float(style.length(value).split()[0]):
        return "none"
    word = style.side(value) if sideways else height_word(value)
    return f"{style.length(value)} {word}"


def length_phrase(value: float, style: Style) -> str:
    """A small move [m]: a fraction of an inch, or millimetres."""
    size = abs(value)
    if style.system is System.METRIC:
        return show(size, Kind.LENGTH, style.system, digits=2 if size < 0.01 else 0)
    parts = Fraction(round(size / INCH * 64), 64)
    near = abs(float(parts) * INCH - size) < 0.12 * size
    if not near or parts == 0:
        return show(size, Kind.LENGTH, style.system, digits=3)
    about = "" if abs(float(parts) * INCH - size) < 1e-6 else "about "
    whole, part = divmod(parts, 1)
    text = f"{whole} {part}" if whole and part else str(whole or part)
    return f"{about}{text} in"


def _clicks(value: float, per_click: float | None) -> str:
    if not per_click:
        return ""
    n = round(abs(value) / per_click)
    return f" ({n} click{'s' if n != 1 else ''})"


def move_phrase(move: Move, now: Setup, style: Style) -> str:
    """The move as an instruction."""
    amount = move.amount
    if move.kind in _ADJUSTED:
        return _adjusted_phrase(move, now, style)
    if move.kind is MoveKind.BOLTS:
        return f"Turn both limb bolts {_turns(amount)}, exactly alike, and weigh the bow again."
    if move.after is not None and move.kind in (MoveKind.POINT, MoveKind.CUT, MoveKind.OTHER_SHAFT):
        return _build_phrase(move, move.after, now, style)
    if move.kind is MoveKind.TURN_NOCK and move.after is not None:
        return _nock_phrase(amount, style)
    if move.kind in (MoveKind.PUT_BACK, MoveKind.KEEP) and move.after is not None and move.after != now:
        return _return_phrase(move.kind, move.after, now, style)
    return f"{_points_first(move, now, style)}{_steady_phrase(move, style)}"


def _adjusted_phrase(move: Move, now: Setup, style: Style) -> str:
    """A move of rest or nock point."""
    amount, rest = move.amount, now.bow.rest
    if move.kind is MoveKind.REST_SIDEWAYS:
        clicks = _clicks(amount, rest.per_click_sideways)
        return f"Move the rest {length_phrase(amount, style)} to the {style.side(amount)}{clicks}."
    if move.kind is MoveKind.REST_HEIGHT:
        clicks = _clicks(amount, rest.per_click_height)
        return f"{'Raise' if amount > 0 else 'Lower'} the rest by {length_phrase(amount, style)}{clicks}."
    if move.kind is MoveKind.REST_BOTH and move.after is not None:
        # told from the two places, as the way back is, so that both are rounded alike
        aside, up = move.after.rest_y - now.rest_y, move.after.rest_z - now.rest_z
        sideways, height = _clicks(aside, rest.per_click_sideways), _clicks(up, rest.per_click_height)
        return (
            f"Move the rest {length_phrase(aside, style)} to the {style.side(aside)}{sideways} and "
            f"{'raise' if up > 0 else 'lower'} it by {length_phrase(up, style)}{height}."
        )
    return f"{'Raise' if amount > 0 else 'Lower'} the nock point by {length_phrase(amount, style)}."


def _return_phrase(kind: MoveKind, good: Setup, now: Setup, style: Style) -> str:
    """Back to an earlier setup, or to settings that were good, from a bench that has been changed since."""
    way = _way_back(good, now, style)
    if kind is MoveKind.PUT_BACK:
        return f"Put the last move back: {way}."
    steps = [way] if way else []
    if good.build != now.build:
        length = show(good.build.carbon_length, Kind.LENGTH, style.system)
        mass = show(good.build.head.mass, Kind.MASS, style.system)
        steps.append(f"shoot arrows built as they were then ({length} of shaft, {mass} point)")
    told = f": {'; '.join(steps)}" if steps else ""
    return f"Go back to the last good settings{told}. Change nothing else."


def _points_first(move: Move, now: Setup, style: Style) -> str:
    """With a head on the arrow: field points before anything is shot bare; '' otherwise."""
    if now.build.head.kind is HeadKind.FIELD or move.kind not in _SHOT_BARE:
        return ""
    mass = show(now.build.head.mass, Kind.MASS, style.system)
    return f"First screw a field point of {mass} into every arrow in place of the head, bare shafts above all. "


def _way_back(before: Setup, now: Setup, style: Style) -> str:
    """What leads from ``now`` to the setup before, in the order a person would do it."""
    steps = (
        (MoveKind.REST_SIDEWAYS, before.rest_y - now.rest_y),
        (MoveKind.REST_HEIGHT, before.rest_z - now.rest_z),
        (MoveKind.NOCK_POINT, before.nock_z - now.nock_z),
        (MoveKind.BOLTS, before.bolt_turns - now.bolt_turns),
    )
    told = [_lower_first(move_phrase(Move(k, None, a, 0.0), now, style)).rstrip(".") for k, a in steps if a]
    if before.nock_angle != now.nock_angle:
        told.append(_lower_first(_nock_phrase(before.nock_angle - now.nock_angle, style)).rstrip("."))
    return "; ".join(told)


def _turns(amount: float) -> str:
    size = {0.25: "a quarter turn", 0.5: "half a turn", 1.0: "one turn"}.get(abs(amount), f"{abs(amount):g} turns")
    return f"{size} {'in' if amount > 0 else 'out'}"


def _build_phrase(move: Move, after: Setup, now: Setup, style: Style) -> str:
    """A change of the arrow itself."""
    if move.kind is MoveKind.POINT:
        mass = show(after.build.head.mass, Kind.MASS, style.system)
        change = show(abs(move.amount), Kind.MASS, style.system)
        return f"Screw in the {mass} point ({change} {'heavier' if move.amount > 0 else 'lighter'})."
    if move.kind is MoveKind.CUT:
        left = show(after.build.carbon_length, Kind.LENGTH, style.system)
        back = after.bolt_turns - now.bolt_turns
        first = []
        if back:
            first.append(f"turn both limb bolts {_turns(back)}, back to where they were")
        if (after.rest_y, after.rest_z, after.nock_z) != (now.rest_y, now.rest_z, now.nock_z):
            first.append("put rest and nock point back to their recorded start")
        text = ", ".join([*first, f"cut {length_phrase(move.amount, style)} off the nock end of the test shafts"])
        return f"{text[:1].upper()}{text[1:]}; {left} of shaft remain."
    spine = show(after.build.shaft.static_spine, Kind.SPINE, style.system)
    if not move.parts:
        return f"Go back to the shafts of {spine} spine that were shot before, as they are."
    return f"Start again with a {'weaker' if move.amount > 0 else 'stiffer'} shaft: the {spine} spine, uncut."


def _nock_phrase(amount: float, style: Style) -> str:
    way = "clockwise" if amount * style.hand.sideways_sign > 0 else "counterclockwise"
    turn = show(abs(amount), Kind.ANGLE, style.system, digits=0)
    return f"Turn the nock of every shaft of the set {turn} {way}, as seen from behind, and mark it."


_FEW_FLETCHED = ". Earlier walks show where fletched ones go, so leave the sight alone or log that you moved it"


def _steady_phrase(move: Move, style: Style) -> str:
    shots = int(move.amount)
    return {
        MoveKind.SHOOT: (
            f"Shoot {shots} bare and {move.fletched} fletched with everything as it is. Take the shafts in turn, at "
            f"least two different bare ones, better three"
            f"{_FEW_FLETCHED if move.fletched < shots else ''}."
        ),
        MoveKind.MAKE_SAFE: "Do not shoot this arrow on this bow; put right what the cautions name first.",
        MoveKind.CHECK_BOW: "Make the bow check and log it.",
        MoveKind.CHECK_CONTACT: "Powder vanes, launcher, cables and shelf, shoot once, and log the contact check.",
        MoveKind.MARK_LENGTH: "Mark the shortest safe length on an arrow at full draw, with a helper.",
        MoveKind.TURN_NOCK: "Turn one bare shaft's nock through paper in 20 degree steps; keep the cleanest angle.",
        MoveKind.TECHNICIAN: "Have a qualified technician look at what the bow check found, before anything else.",
        MoveKind.OTHER_SHAFT: (
            f"Start again with {'a stiffer' if move.amount < 0 else 'a longer or weaker'} shaft; "
            "this one cannot be brought to this bow."
        ),
        MoveKind.MEASURE_REST: "Measure where the rest stands now, or how far one click moves it, and log that.",
        MoveKind.SET_ASIDE: f"Turn the nock of bare shaft {shots} and shoot it again, or leave it out.",
        MoveKind.KEEP: "Keep the last good settings and change nothing.",
        MoveKind.SHOOTER: "Stop tuning for today: the groups are too wide for this test.",
        MoveKind.STOP: "Stop: this is tuned as far as the shots can tell.",
        MoveKind.STEP_BACK: (
            f"Step back to {style.distance(move.amount)} and shoot {STEP_SHOTS} bare and {STEP_SHOTS} fletched, with a "
            "backstop that forgives a wide miss."
        ),
    }[move.kind]


def put_back_phrase(move: Move, now: Setup, style: Style) -> str:
    """How to undo the move, from the setup it was made in; '' when there is nothing to undo."""
    kind, amount = move.kind, move.amount
    if kind is MoveKind.REST_BOTH and move.after is not None:
        return f"To put it back: {_way_back(now, move.after, style)}."
    if kind in (MoveKind.REST_SIDEWAYS, MoveKind.REST_HEIGHT, MoveKind.NOCK_POINT, MoveKind.BOLTS):
        return "To put it back: " + _lower_first(move_phrase(Move(kind, None, -amount, 0.0), now, style))
    if kind is MoveKind.TURN_NOCK and move.after is not None:
        return "To put it back: " + _lower_first(_nock_phrase(-amount, style))
    if kind is MoveKind.POINT:
        mass = show(now.build.head.mass, Kind.MASS, style.system)
        return f"To put it back: screw the {mass} point in again."
    return ""


def _lower_first(text: str) -> str:
    return text[:1].lower() + text[1:]
