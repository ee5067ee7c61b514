"""Worlds the adviser cannot see: a bow, an archer, arrows and a target with a physics of their own.

Lives here: the beam, the power stroke and the flight of the range, what the trade reports beyond them, shots with their
faults. Does not live here: any player. Imports of the product only what describes equipment and evidence.
"""

from benchmarks.virtual_range.world.shooting import DISTANCE, Condition
from benchmarks.virtual_range.world.truth import WorldKind
from benchmarks.virtual_range.world.worlds import World, draw_world

__all__ = ["DISTANCE", "Condition", "World", "WorldKind", "draw_world"]
