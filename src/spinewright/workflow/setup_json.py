"""A setup of the bench as numbers with their texts and in words: build, bow and every adjustment since the start."""

from __future__ import annotations

from spinewright.equipment import Setup
from spinewright.units import Kind
from spinewright.workflow.build_words import adjustment_rows, bow_rows, part_rows
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
    """Label and text of everything that is built and set, in the archer's own units and sides."""
    return [*part_rows(setup.build, voice), *bow_rows(setup, voice), *adjustment_rows(setup, voice)]
