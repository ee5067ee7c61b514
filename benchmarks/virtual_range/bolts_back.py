"""Whether an arrow that ended too short is so for its own sake, or because the limb bolts were turned out since."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from benchmarks.virtual_range.world import World, WorldKind, draw_world
from spinewright.equipment import Setup
from spinewright.units import GRAIN, INCH, Hand

__all__ = ["short_with_bolts_back"]


def short_with_bolts_back(record: dict[str, Any], player: str) -> bool:
    """Whether the arrow that ``player`` left reads stiff by over an inch with the bolts back where the hunt began."""
    world = draw_world(record["seed"], WorldKind[record["kind"]], Hand[record["hand"]])
    by, part = world.too_stiff(_bolts_back(world, record["scores"][player]["steps"][-1]["setup"]))
    return by > 0.0 and part > INCH


def _bolts_back(world: World, changed: dict[str, float]) -> Setup:
    """The start with the arrow as it was ``changed``: inches cut, grains of point, spine; see ``hunt``."""
    start = world.start.build
    cut = changed.get("cut", 0.0) * INCH
    mass = start.head.mass + changed.get("point", 0.0) * GRAIN
    spine = start.shaft.static_spine + changed.get("spine", 0.0) * INCH
    build = replace(
        start,
        head=min((start.head, *world.truth.heads), key=lambda head: abs(head.mass - mass)),
        shaft=min((start.shaft, *world.truth.shafts), key=lambda shaft: abs(shaft.static_spine - spine)),
        throat_length=start.throat_length - cut,
        carbon_length=start.carbon_length - cut,
    )
    return replace(world.start, build=build)
