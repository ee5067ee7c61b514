"""Every part by name; a new one is a line here."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from soak import benches_part, devices_part, http_part, physics, years_part
from soak.adverse import part as adverse_part
from soak.bad_input import part as input_part
from soak.figures import Part
from soak.kills import part as kills_part

__all__ = ["PARTS"]

PARTS: Mapping[str, Part] = MappingProxyType(
    {
        "input": Part("Bad input", input_part.run, 13.0, "minutes"),
        "physics": Part("Physics at its edges", physics.physics, 100_000.0, "draws"),
        "http": Part("The page's routes", http_part.run, 300.0, "requests to each route"),
        "benches": Part("Several benches on one server", benches_part.run, 1000.0, "events of each writer"),
        "devices": Part("Many devices at once", devices_part.run, 5.0, "minutes"),
        "years": Part("A logbook of ten years", years_part.run, 200_000.0, "shots"),
        "kills": Part("Killed at any moment", kills_part.run, 200.0, "kills of each act"),
        "adverse": Part("Adverse circumstances", adverse_part.run, 20.0, "tries of each"),
    }
)
"""All parts by name, in the order of the page."""
