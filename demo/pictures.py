"""Draws the pictures of the demo: the build sheet, the forgiveness map, and a walk to the target before and after."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from demo.technician import TEST_DISTANCE
from spinewright.cli.map_text import map_lines
from spinewright.cli.printing import say
from spinewright.evidence import Visit
from spinewright.report import draw_map, draw_sheet, draw_target
from spinewright.workflow import MapWishes, bench, forgiveness_map, sheet

__all__ = ["draw_all"]


def draw_all(session: Path, folder: Path) -> Sequence[Path]:
    """Draws everything about ``session`` into ``folder``, prints the map in words, and returns the pictures' paths."""
    made = sheet(session)
    system, hand = made.voice.system, made.voice.hand
    sheet_file = folder / "build-sheet.png"
    drawn = [draw_sheet(made.build, sheet_file, system, hand, subject=made.subject, blocks=made.blocks)]
    found = forgiveness_map(session, MapWishes(distance=TEST_DISTANCE))
    map_file = folder / "forgiveness-map.png"
    drawn.append(draw_map(found.chart, map_file, system, hand, own=found.own, heads=found.heads))
    say(["", *map_lines(found)])
    walks = [item.what for item in bench(session).history.seen if _is_walk(item.what)]
    for name, walk in (("holes-first", walks[0]), ("holes-last", walks[-1])):
        assert isinstance(walk, Visit)  # noqa: S101 - chosen by _is_walk
        drawn.append(draw_target(walk, folder / f"{name}.png", made.voice.system, made.voice.hand))
    return drawn


def _is_walk(what: object) -> bool:
    """Whether bare and fletched were shot together, which a proof group does not."""
    return isinstance(what, Visit) and not what.purpose
