"""The events that log a move once it is done as intended, so that another program can play a hunt to its end."""

from __future__ import annotations

from collections.abc import Iterator

from spinewright.equipment import HeadKind, Setup, Shaft
from spinewright.units import GRAIN, INCH, System, height_word, side_word
from spinewright.workflow.showing import Json, Voice

__all__ = ["events_between"]

_NOTHING = 1e-7  # m, rad, kg or turns: less than this is no change
_UP_DOWN = {"high": "up", "low": "down"}


def events_between(before: Setup, after: Setup, voice: Voice) -> list[Json]:
    """What to log, in order, when the bench was brought from ``before`` to ``after``.

    Lengths after a cut are those intended: measure, and put the measured ones in their place. A shaft that would have
    to grow is left out, because it cannot.
    """
    return [*_adjustments(before, after, voice), *_arrow(before, after, voice)]


def _adjustments(before: Setup, after: Setup, voice: Voice) -> Iterator[Json]:
    y, z = after.rest_y - before.rest_y, after.rest_z - before.rest_z
    if abs(y) > _NOTHING or abs(z) > _NOTHING:
        yield _rest(y, z, before, voice)
    lifted = after.nock_z - before.nock_z
    if abs(lifted) > _NOTHING:
        yield {"kind": "nock point moved", "intended": f"{_up(lifted)} {_length(lifted, voice)}"}
    turns = after.bolt_turns - before.bolt_turns
    if abs(turns) > _NOTHING:
        yield {"kind": "bolts turned", "both_bolts": f"{'in' if turns > 0 else 'out'} {abs(turns):g}"}
    turned = (after.nock_angle - before.nock_angle) * voice.hand.sideways_sign
    if abs(turned) > _NOTHING and after.build.shaft == before.build.shaft:
        way = "clockwise" if turned > 0 else "counterclockwise"
        yield {"kind": "nock turned", "turned": f"{way} {abs(turned):.5f} rad"}


def _rest(y: float, z: float, now: Setup, voice: Voice) -> Json:
    rest = now.bow.rest
    said, clicks = [], []
    for amount, word, per_click in (
        (y, side_word(y, voice.hand), rest.per_click_sideways),
        (z, _up(z), rest.per_click_height),
    ):
        if abs(amount) > _NOTHING:
            said.append(f"{word} {_length(amount, voice)}")
            clicks.append(None if not per_click else f"{word} {round(abs(amount) / per_click)}")
    event: Json = {"kind": "rest moved", "intended": ", ".join(said)}
    counted = [one for one in clicks if one is not None]
    if len(counted) == len(clicks):
        event["clicks"] = ", ".join(counted)
    return event


def _arrow(before: Setup, after: Setup, voice: Voice) -> Iterator[Json]:
    old, new = before.build, after.build
    lengths: Json = {
        "throat_length": _length(new.throat_length, voice),
        "carbon_length": _length(new.carbon_length, voice),
    }
    if new.shaft != old.shaft:
        yield {"kind": "shaft changed", "shaft": _shaft(new.shaft), **lengths}
    elif new.carbon_length < old.carbon_length - _NOTHING:
        off = old.carbon_length - new.carbon_length
        yield {"kind": "cut", "intended": _length(off, voice), **lengths}
    if new.head != old.head:
        yield _point(after, voice)


def _point(after: Setup, voice: Voice) -> Json:
    head = after.build.head
    event: Json = {"kind": "point changed", "mass": _mass(head.mass, voice), "length": _length(head.length, voice)}
    if head.kind is not HeadKind.FIELD:
        event |= {"head": str(head.kind), "blade_area": f"{head.blade_area * 1e6:.2f} mm2"}
        event |= {"blades": head.blade_count, "width": _length(head.width, voice)}
    return event


def _shaft(shaft: Shaft) -> Json:
    found: Json = {
        "name": shaft.name,
        "material": str(shaft.material),
        "spine": f"{shaft.static_spine * 1e3:.4f} mm",
        "spine_test": "current",
        "weight": f"{shaft.linear_density * 1e3:.4f} g/m",
        "outer_diameter": f"{shaft.outer_diameter * 1e3:.4f} mm",
        "inner_diameter": f"{shaft.inner_diameter * 1e3:.4f} mm",
        "stiff_side_difference": f"{shaft.stiff_side_difference * 100:.3f} %",
        "straightness": f"{shaft.straightness * 1e3:.4f} mm",
    }
    if shaft.uncut_length is not None:
        found["uncut_length"] = f"{shaft.uncut_length * 1e3:.2f} mm"
    return found


def _up(z: float) -> str:
    return _UP_DOWN[height_word(z)]


def _length(length: float, voice: Voice) -> str:
    """A length [m] as a session file has it, to a few micrometres."""
    size = abs(length)
    return f"{size / INCH:.4f} in" if voice.system is System.INCH else f"{size * 1e3:.3f} mm"


def _mass(mass: float, voice: Voice) -> str:
    return f"{mass / GRAIN:.1f} gr" if voice.system is System.INCH else f"{mass * 1e3:.3f} g"
