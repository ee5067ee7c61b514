"""What a person needs to build the arrow and set the bow again, as rows of label and text."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from spinewright.equipment import ArrowBuild, Component, Fletching, Head, HeadKind, RestKind, Setup, Shaft
from spinewright.logbook import StartMarks
from spinewright.units import INCH, Kind, System, counted, show, show_offset
from spinewright.workflow.showing import Voice

__all__ = ["Row", "adjustment_rows", "alone_rows", "bow_rows", "part_rows", "start_rows"]

Row = tuple[str, str]  # label and text

_NOTHING = 1e-9  # m, rad or turns: less than this is where it was
_WAS = "where it was"


def part_rows(build: ArrowBuild, voice: Voice) -> list[Row]:
    """The arrow, part by part: enough to build it again."""
    rows = [
        ("nock throat to shaft end", _size(build.throat_length, voice)),
        ("shaft, end to end", _size(build.carbon_length, voice)),
        *_shaft_rows(build.shaft, voice),
        ("nock", _part(build.nock, "rear", voice)),
    ]
    for name, part, end in (
        ("bushing", build.bushing, "rear"),
        ("wrap", build.wrap, "rear"),
        ("insert", build.insert, "front"),
        ("collar", build.collar, "front"),
    ):
        if part is not None:
            rows.append((name, _part(part, end, voice)))
    tape = show(build.tape_mass, Kind.MASS, voice.system) if build.tape_mass else "none"
    return [
        *rows,
        ("point", _head(build.head, voice)),
        ("vanes", _vanes(build.fletching, voice)),
        ("tape on each bare shaft", tape),
    ]


def _shaft_rows(shaft: Shaft, voice: Voice) -> Iterator[Row]:
    system = voice.system
    yield "shaft", ", ".join(part for part in (shaft.name, str(shaft.material)) if part)
    yield "static spine", f"{show(shaft.static_spine, Kind.SPINE, system)}, by the current test (28 in, 880 g)"
    yield "shaft's mass per length", show(shaft.linear_density, Kind.LINEAR_DENSITY, system)
    outer, inner = (_fine(value, voice) for value in (shaft.outer_diameter, shaft.inner_diameter))
    yield "shaft's diameter", f"{outer} outside, {inner} inside"
    around = show(shaft.stiff_side_difference, Kind.FRACTION, system, digits=1)
    yield "spine around the shaft", f"differs by {around}"
    yield "straightness", f"{_fine(shaft.straightness, voice, 4)} total reading"


def _part(part: Component, end: str, voice: Voice) -> str:
    """A part by mass, length and place: where its middle lies from the shaft end it belongs to."""
    told = [show(part.mass, Kind.MASS, voice.system)]
    if part.length:
        told.append(f"{_fine(part.length, voice, 2)} long")
    if abs(part.offset) > _NOTHING:
        side = "inside" if part.offset > 0 else "outside"
        told.append(f"its middle {_fine(abs(part.offset), voice, 2)} {side} the shaft's {end} end")
    return ", ".join(told)


def _head(head: Head, voice: Voice) -> str:
    told = [f"{show(head.mass, Kind.MASS, voice.system)} {head.kind}", f"stands out {_fine(head.length, voice, 2)}"]
    if head.kind is not HeadKind.FIELD:
        area = show(head.blade_area, Kind.AREA, voice.system)
        told.append(f"{counted(head.blade_count, 'blade')} of {area}, {_fine(head.width, voice, 2)} wide")
    return ", ".join(told)


def _vanes(vanes: Fletching, voice: Voice) -> str:
    turned = show_offset(-vanes.offset, 0.0, voice.hand, voice.system, kind=Kind.ANGLE)
    mass = show(vanes.mass, Kind.MASS, voice.system)
    length, height, rear = (_fine(value, voice, 2) for value in (vanes.length, vanes.height, vanes.from_rear))
    set_on = "straight" if turned == "straight" else f"turned {turned}"
    return f"{vanes.count}, {mass} each, {length} long, {height} high, {set_on}, rear edge {rear} from the throat"


def bow_rows(setup: Setup, voice: Voice) -> list[Row]:
    """The bow as it is."""
    bow, rest = setup.bow, setup.bow.rest
    rows = [
        ("peak weight", show(setup.present_peak_weight, Kind.FORCE, voice.system, digits=1)),
        ("let-off", show(bow.let_off, Kind.FRACTION, voice.system)),
        ("draw length", _size(bow.draw_length, voice)),
        ("brace height", _size(bow.brace_height, voice)),
        ("axle to axle", _size(bow.axle_to_axle, voice)),
    ]
    place = f"{_fine(abs(rest.ahead), voice, 2)} {'ahead of' if rest.ahead >= 0 else 'behind'} the grip's pivot"
    drops = ""
    if rest.kind is RestKind.DROP_AWAY and rest.drops_after is not None:
        drops = f", drops after {_fine(rest.drops_after, voice, 2)} of travel"
    return [*rows, ("rest", f"{rest.kind}, {place}{drops}")]


def start_rows(marks: StartMarks, voice: Voice) -> list[Row]:
    """Where things stood at the recorded start."""
    named = (
        ("centre shot at the start", marks.centre_shot),
        ("nock height at the start", marks.nock_height),
        ("rest height at the start", marks.rest_height),
    )
    rows = [(label, "not measured" if value is None else _size(value, voice)) for label, value in named]
    out = "not noted" if marks.bolts_out is None else f"{counted(marks.bolts_out, 'turn')} out from fully in"
    rows.append(("both limb bolts at the start", out))
    return [*rows, *([("noted at the start", marks.note)] if marks.note else [])]


def adjustment_rows(setup: Setup, voice: Voice) -> list[Row]:
    """Every adjustment against the recorded start; sides and turns as this archer sees them."""
    side = show_offset(setup.rest_y, 0.0, voice.hand, voice.system, digits=_digits(voice))
    turned = setup.nock_angle * voice.hand.sideways_sign
    angle = show(abs(turned), Kind.ANGLE, voice.system)
    height, nock = (_moved(z, ("up", "down"), _fine(abs(z), voice)) for z in (setup.rest_z, setup.nock_z))
    sideways = _WAS if side == "centre" else side
    rest = ", ".join(part for part in (sideways, height) if part != _WAS) or _WAS
    return [
        ("rest, against its start", rest),
        ("nock point, against its start", nock),
        ("nocks turned", _moved(turned, _TURN_WORDS, angle, ", seen from behind")),
        (
            "both limb bolts, against the start",
            _moved(setup.bolt_turns, ("in", "out"), counted(setup.bolt_turns, "turn")),
        ),
    ]


def alone_rows(own_turns: Iterable[tuple[int, float]], voice: Voice) -> list[Row]:
    """Which nocks stand otherwise than their fellows' and by how much; none where none was turned alone."""
    said = []
    for shaft, turned in own_turns:
        ours = turned * voice.hand.sideways_sign
        said.append(f"shaft {shaft}: {show(abs(ours), Kind.ANGLE, voice.system)} {_TURN_WORDS[ours < 0]}")
    return [("nocks turned alone", f"{'; '.join(said)}, seen from behind, beyond their fellows")] if said else []


_TURN_WORDS = ("clockwise", "counterclockwise")


def _moved(amount: float, words: tuple[str, str], size: str, seen: str = "") -> str:
    if abs(amount) < _NOTHING or float(size.partition(" ")[0]) == 0.0:  # what rounds to nothing was not moved
        return _WAS
    return f"{size} {words[amount < 0]}{seen}"


def _size(value: float, voice: Voice) -> str:
    return show(value, Kind.LENGTH, voice.system)


def _digits(voice: Voice) -> int:
    return 3 if voice.system is System.INCH else 2


def _fine(value: float, voice: Voice, digits: int | None = None) -> str:
    """A small length [m], to a thousandth of an inch or a hundredth of a millimetre unless told otherwise."""
    if voice.system is System.METRIC and digits is not None:
        digits -= 1
    if voice.system is System.INCH and value >= 5.0 * INCH:
        return _size(value, voice)
    return show(value, Kind.LENGTH, voice.system, digits=_digits(voice) if digits is None else digits)
