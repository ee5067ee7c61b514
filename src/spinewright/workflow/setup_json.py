"""A setup of the bench as numbers with their texts and in words: build, bow and every adjustment since the start."""

from __future__ import annotations

from spinewright.equipment import Setup
from spinewright.units import Kind, System, show, show_offset
from spinewright.workflow.showing import Json, Voice

__all__ = ["setup_json", "setup_words"]


def setup_json(setup: Setup, voice: Voice) -> Json:
    """``setup`` by ``schema/parts.json``; the nock's angle is clockwise as this archer sees it from behind."""
    build, bow = setup.build, setup.bow
    turned = setup.nock_angle * voice.hand.sideways_sign if setup.nock_angle else 0.0
    return {
        "throat_length": voice.quantity(build.throat_length, Kind.LENGTH),
        "carbon_length": voice.quantity(build.carbon_length, Kind.LENGTH),
        "spine": voice.quantity(build.shaft.static_spine, Kind.SPINE),
        "point": {"mass": voice.quantity(build.head.mass, Kind.MASS), "head": str(build.head.kind)},
        "mass_fletched": voice.quantity(build.total_mass(bare=False), Kind.MASS),
        "mass_bare": voice.quantity(build.total_mass(bare=True), Kind.MASS),
        "peak_weight": voice.quantity(setup.present_peak_weight, Kind.FORCE, 1),
        "draw_length": voice.quantity(bow.draw_length, Kind.LENGTH),
        "rest": voice.offset((setup.rest_y, setup.rest_z)),
        "nock_point_up": voice.quantity(setup.nock_z, Kind.LENGTH),
        "nock_turned_clockwise": voice.quantity(turned, Kind.ANGLE),
        "bolts_turned_in": setup.bolt_turns,
    }


def setup_words(setup: Setup, voice: Voice) -> list[tuple[str, str]]:
    """Label and text of everything that is set, in the archer's own units and sides."""
    build = setup.build
    digits = 3 if voice.system is System.INCH else 2

    def size(value: float, kind: Kind, decimals: int | None = None) -> str:
        return show(value, kind, voice.system, digits=decimals)

    rest = show_offset(setup.rest_y, setup.rest_z, voice.hand, voice.system, digits=digits)
    turned = setup.nock_angle * voice.hand.sideways_sign
    return [
        ("nock throat to shaft end", size(build.throat_length, Kind.LENGTH)),
        ("shaft, end to end", size(build.carbon_length, Kind.LENGTH)),
        ("shaft", f"{build.shaft.name} spine {size(build.shaft.static_spine, Kind.SPINE)}".strip()),
        ("point", f"{size(build.head.mass, Kind.MASS)} {build.head.kind}"),
        ("vanes", f"{build.fletching.count}, {size(build.fletching.length, Kind.LENGTH)} long"),
        ("tape on each bare shaft", size(build.tape_mass, Kind.MASS) if build.tape_mass else "none"),
        ("peak weight", size(setup.present_peak_weight, Kind.FORCE, 1)),
        ("draw length", size(setup.bow.draw_length, Kind.LENGTH)),
        ("brace height", size(setup.bow.brace_height, Kind.LENGTH)),
        ("rest, against its start", "where it was" if rest == "centre" else rest),
        (
            "nock point, against its start",
            _moved(setup.nock_z, ("up", "down"), size(abs(setup.nock_z), Kind.LENGTH, digits)),
        ),
        ("nocks turned", _moved(turned, ("clockwise", "counterclockwise"), size(abs(turned), Kind.ANGLE))),
        (
            "both limb bolts, against the start",
            _moved(setup.bolt_turns, ("in", "out"), f"{abs(setup.bolt_turns):g} turns"),
        ),
    ]


def _moved(amount: float, words: tuple[str, str], size: str) -> str:
    return "where it was" if abs(amount) < 1e-9 else f"{size} {words[amount < 0]}"
