"""Which bows the power stroke is drawn for: as it stands, after the next move, and with the map's best build."""

from __future__ import annotations

from typing import Any

from tests.around.benches import example

from spinewright.units import GRAIN, INCH
from spinewright.workflow.benches.stroke_drawing import _setups

MOVED: dict[str, Any] = {"kind": "rest moved", "measured": "left 0.02 in"}
CUT: dict[str, Any] = {"kind": "cut", "intended": "1/2 in"}


def test_the_next_move_and_the_best_build_are_drawn_where_there_are_any() -> None:
    bench = example()
    now = bench.state.now
    assert list(_setups(bench, {"after": [], "best": None})) == [("now", now)]
    length, point = now.build.carbon_length - 0.5 * INCH, now.build.head.mass + 20.0 * GRAIN
    found = dict(_setups(bench, {"after": [MOVED], "best": {"length": length, "point": point}}))
    assert list(found) == ["now", "after", "best"]
    assert found["after"].rest_y != now.rest_y
    assert found["after"].build == now.build
    assert (found["best"].build.carbon_length, found["best"].build.head.mass) == (length, point)


def test_a_move_that_has_to_be_measured_first_is_not_drawn_as_made() -> None:
    assert list(dict(_setups(example(), {"after": [CUT], "best": None}))) == ["now"]
