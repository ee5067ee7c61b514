"""The trade's table of signs and the reading of holes, tails and nocks by it; all signs 'common practice'."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from spinewright.evidence import SIGN_TABLE, TradeKind, TradeNoise, trade_reading

NOISE = TradeNoise(gap_y=0.010, gap_z=0.010)  # invented
SIDE, TAIL, LEAN = 0.05, 0.02, 0.08  # well beyond the noise; invented


@pytest.mark.parametrize(
    ("gap_y", "gap_z", "tail_y", "lean_y", "kind"),
    [  # common practice: signs of a right-hander, left and up positive
        (+SIDE, +SIDE, None, None, TradeKind.STIFF),
        (+SIDE, +SIDE, -TAIL, None, TradeKind.STIFF),
        (+SIDE, 0.0, -TAIL, -LEAN, TradeKind.STIFF),
        (+SIDE, 0.0, None, -LEAN, TradeKind.STIFF),
        (0.0, 0.0, -TAIL, None, TradeKind.STIFF),
        (-SIDE, -SIDE, None, None, TradeKind.WEAK),
        (-SIDE, -SIDE, +TAIL, +LEAN, TradeKind.WEAK),
        (0.0, 0.0, +TAIL, None, TradeKind.WEAK),
        (+SIDE, -SIDE, None, None, TradeKind.NOT_SPINE),
        (-SIDE, +SIDE, None, None, TradeKind.NOT_SPINE),
        (0.0, +SIDE, None, None, TradeKind.HEIGHT_ONLY),
        (0.0, -SIDE, 0.0, -LEAN, TradeKind.HEIGHT_ONLY),
        (+SIDE, 0.0, None, 0.0, TradeKind.STANDING_STRAIGHT),
        (-SIDE, 0.0, None, 0.01, TradeKind.STANDING_STRAIGHT),
        (+SIDE, 0.0, +TAIL, None, TradeKind.DISAGREE),
        (+SIDE, 0.0, None, +LEAN, TradeKind.DISAGREE),
        (0.005, 0.009, None, None, TradeKind.WITHIN_SCATTER),
        (0.005, 0.009, 0.001, LEAN, TradeKind.WITHIN_SCATTER),
        # a tear is the better witness than a nock, so it speaks where the shafts stand straight
        (+SIDE, 0.0, -TAIL, 0.0, TradeKind.STIFF),
    ],
)
def test_readings_of_the_trade(
    gap_y: float, gap_z: float, tail_y: float | None, lean_y: float | None, kind: TradeKind
) -> None:
    found = trade_reading(gap_y, gap_z, NOISE, tail_y=tail_y, lean_y=lean_y)
    assert found.kind is kind
    assert found.source == "common practice"
    assert found.because
    if found.row is not None:
        assert found.row in SIGN_TABLE
        assert found.row.kind is kind


component = st.floats(-0.2, 0.2)


@given(component, component, st.none() | component, st.none() | component)
def test_turned_round_in_side_and_height_stiff_becomes_weak_and_nothing_else_changes(
    gap_y: float, gap_z: float, tail_y: float | None, lean_y: float | None
) -> None:
    found = trade_reading(gap_y, gap_z, NOISE, tail_y=tail_y, lean_y=lean_y)
    turned = trade_reading(
        -gap_y, -gap_z, NOISE, tail_y=None if tail_y is None else -tail_y, lean_y=None if lean_y is None else -lean_y
    )
    swap = {TradeKind.STIFF: TradeKind.WEAK, TradeKind.WEAK: TradeKind.STIFF}
    assert turned.kind is swap.get(found.kind, found.kind)
    assert turned.because == found.because


def test_the_table_says_where_every_line_is_from_and_moves_the_rest_as_the_trade_does() -> None:
    rows = {(r.kind, r.hole_y, r.hole_z): r for r in SIGN_TABLE}
    assert all(r.source == "common practice" for r in SIGN_TABLE)
    # common practice: bare left with the nock right, rest left, toward the bare hole; standing straight, rest right
    assert rows[TradeKind.STIFF, 1, 1].rest_y == 1
    assert rows[TradeKind.STIFF, 1, 1].lean_y == -1
    assert rows[TradeKind.STANDING_STRAIGHT, 1, None].rest_y == -1
    # common practice: bare low, raise the rest a trifle; high, lower it
    assert rows[TradeKind.HEIGHT_ONLY, 0, -1].rest_z == 1
    assert rows[TradeKind.HEIGHT_ONLY, 0, 1].rest_z == -1
    # what is not a spine pattern has no rest move of its own
    assert rows[TradeKind.NOT_SPINE, 1, -1].rest_y is None
