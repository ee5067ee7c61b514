"""Broadheads against field points: foretold, logged, the aim for them, and the warning before anything is shot."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest

from spinewright import logbook
from spinewright.belief import Members, draw_members
from spinewright.equipment import HeadKind
from spinewright.errors import InputError
from spinewright.outlook import fixed_head, heads_and_differences
from spinewright.outlook.heads import head_effects, sized, steady
from spinewright.units import INCH, YARD, Hand, System
from spinewright.workflow import OpenBench, start_bench, with_event
from spinewright.workflow.around.account import Account
from spinewright.workflow.around.keeping import keep_answers
from spinewright.workflow.around.register import task_named
from tests.around.benches import asked, example

NOW = example().state.now
HEAD = fixed_head(NOW.build.head.mass)


def bows(count: int = 40) -> Members:
    return draw_members(count, NOW, None, np.random.default_rng(7))


def gaps(y: float, count: int = 40) -> np.ndarray[tuple[int, int], np.dtype[np.float64]]:
    return np.tile([y, 0.0], (count, 1))


def test_it_foretells_what_the_map_of_heads_does() -> None:
    # computed by the other path: strokes of the set's differences, whose arrow as built is the same
    found = head_effects(bows(), NOW, 20 * YARD, [HEAD], gaps(-0.02))
    other = heads_and_differences(bows(), NOW, 20 * YARD, head=HEAD, gap=gaps(-0.02))
    assert found.heads[0].far.middle == pytest.approx(other.offset.middle, rel=1e-6)
    assert found.turn.middle == pytest.approx(other.turn.middle, rel=1e-6)


def test_a_broadhead_goes_where_the_bare_shaft_goes() -> None:
    # common practice: fixed blades hit to the side of the field points that bare shafts hit to
    for side in (-1.0, 1.0):
        found = head_effects(bows(), NOW, 20 * YARD, [HEAD], gaps(side * 2 * INCH))
        assert found.heads[0].sideways.low * side > 0 or found.heads[0].sideways.high * side > 0
        assert found.heads[0].sideways.middle * side > 0.5 * INCH


def test_the_nearer_bare_is_to_fletched_the_nearer_the_head_is() -> None:
    found = head_effects(bows(), NOW, 20 * YARD, [HEAD], gaps(-2 * INCH), ((0.0, 0.0), (0.5 * INCH, 0.2 * INCH)))
    none, stiff = found.if_the_gap
    assert none.far.middle < 0.5 * found.heads[0].far.middle
    # common practice: a slightly stiff arrow puts fixed blades a little to the stiff side, left for a right-hander
    assert stiff.sideways.middle > none.sideways.middle


def test_larger_blades_of_one_shape() -> None:
    large = sized(HEAD, 1.3)
    assert large.blade_area == pytest.approx(1.3 * HEAD.blade_area)
    # computed: the same shape at 1.3 times the area is wider by the root of it
    assert large.width == pytest.approx(1.3**0.5 * HEAD.width)
    assert large.mass == HEAD.mass
    found = head_effects(bows(), NOW, 20 * YARD, [HEAD, large], gaps(-INCH))
    assert found.heads[1].far.middle > found.heads[0].far.middle


def test_a_head_that_the_vanes_do_not_steady_is_refused() -> None:
    assert steady(NOW, HEAD)
    assert not steady(NOW, sized(HEAD, 6.0))
    found = asked("heads", blade_area="2 in2", width="2 in")
    assert "Do not shoot this head" in found.answer
    assert "can go anywhere" in found.cautions[0]


def shot(bench: OpenBench, bare: float, *, headed: float | None = None, count: int = 3) -> OpenBench:
    """A walk at 20 yd: three fletched about the spot, bare ones and heads so far to this archer's weak side [in]."""
    weak, other = ("right", "left") if bench.state.scope.hand is Hand.RIGHT else ("left", "right")
    hits: list[dict[str, object]] = []
    for k, a in enumerate((-0.3, 0.1, 0.2), 1):
        hits.append({"shaft": k, "state": "fletched", "hole": f"{weak if a > 0 else other} {abs(a)} in, high 0.1 in"})
        hits.append({"shaft": k + 6, "state": "bare", "hole": _side(bare + a, weak, other)})
    for k in range(count if headed is not None else 0):
        off = (headed or 0.0) + 0.2 * (k - 1)
        hits.append(
            {"shaft": k + 3, "state": "fletched", "hole": _side(off, weak, other), "head": HeadKind.FIXED.value}
        )
    return with_event(bench, {"kind": "shots", "distance": "20 yd", "target": "layered mesh", "hits": hits})


def _side(off: float, weak: str, other: str) -> str:
    return f"{weak if off > 0 else other} {abs(off):.2f} in, high 0.1 in"


def test_a_weak_arrow_is_warned_of_before_anything_is_shot() -> None:
    found = asked("heads")
    assert found.answer.startswith("No fixed blades with this arrow yet: nothing that was shot")
    assert "Nobody knows yet whether this arrow is weak" in " ".join(found.cautions)
    assert "only on fletched arrows" in " ".join(found.cautions)
    assert "backstop of their own" in " ".join(found.cautions)


def test_a_shaft_weaker_than_its_maker_allows_is_not_shot_with_blades() -> None:
    text = str(logbook.template(Hand.RIGHT, System.INCH, filled=True))
    weak = start_bench(text.replace('weakest_spine = ""', 'weakest_spine = "330"'))
    assert "weaker than the maker allows" in asked("heads", weak).answer
    assert "Weakest spine" in asked("heads", weak).cautions[0]


def test_the_share_of_bent_shafts_grows_as_they_get_weaker() -> None:
    # computed: bending left at release grows with the spine's deflection; nothing else differs
    text = str(logbook.template(Hand.RIGHT, System.INCH, filled=True))
    shares = []
    for spine in (300, 600):
        bench = start_bench(text.replace('spine = "355"', f'spine = "{spine}"'))
        said = next(one for one in asked("heads", bench).cautions if one.startswith("Nobody"))
        shares.append(int(said.split("in ")[1].split(" %")[0]))
    assert shares[1] > shares[0] + 20


def test_bare_on_the_weak_side_speaks_against_blades_and_on_the_stiff_side_not() -> None:
    assert "weak side of fletched" in asked("heads", shot(example(), 1.5)).answer
    stiff = asked("heads", shot(example(), -0.6))
    assert "No fixed blades" not in stiff.answer
    assert "weak side" not in " ".join(stiff.cautions)


def test_mechanical_heads_are_not_warned_of_as_fixed_ones() -> None:
    found = asked("heads", shot(example(), 1.5), kind="mechanical")
    assert "No fixed blades" not in found.answer
    assert "under 0.1 in" in found.answer


def test_logged_groups_are_held_against_the_forecast() -> None:
    near = asked("heads", shot(example(), 1.0, headed=2.0))
    assert near.tables[2].title == "Logged groups"
    assert near.tables[2].rows[0][:3] == ("20 yd", "fixed-blade head", "3 and 3")
    assert "beyond your scatter, and as foretold" in " ".join(near.sentences)
    off = asked("heads", shot(example(), 0.2, headed=-6.0))
    assert "not as foretold, so trust the groups" in " ".join(off.sentences)
    same = asked("heads", shot(example(), 0.2, headed=0.3))
    assert "no more than your scatter makes" in " ".join(same.sentences)
    assert "No groups with both heads" in " ".join(asked("heads").sentences)


def test_the_aim_for_fixed_blades_is_told() -> None:
    text = " ".join(asked("heads", shot(example(), 1.0)).sentences)
    assert "aims at a slightly stiff arrow, bare left 0.5 in, high 0.2 in of fletched" in text
    assert "with the purpose 'fixed-blade heads' it aims there" in text
    bench = str(logbook.template(Hand.RIGHT, System.INCH, filled=True)).replace(
        'purpose = "target"', 'purpose = "fixed-blade heads"'
    )
    assert "aims there already" in " ".join(asked("heads", start_bench(bench)).sentences)


def swapped(account: Account) -> str:
    said = json.dumps([account.to_json()[key] for key in ("answer", "sentences", "tables")], allow_nan=False)
    return said.replace("left", "?").replace("right", "left").replace("?", "right")


def test_left_mirrors_right() -> None:
    right, left = (asked("heads", shot(example(hand), 1.0, headed=2.0)) for hand in Hand)
    assert swapped(right) == json.dumps([left.to_json()[key] for key in ("answer", "sentences", "tables")])


def test_metric_says_the_same() -> None:
    inch, metric = (asked("heads", shot(example(Hand.RIGHT, system), 1.0), distance="20 yd") for system in System)
    one, other = (np.array(account.plots[0].series[0].y) for account in (inch, metric))
    assert one * 25.4 == pytest.approx(other)
    assert "mm" in metric.answer


def test_another_weight_is_another_arrow() -> None:
    assert "another arrow" in " ".join(asked("heads", mass="125 gr").cautions)
    assert "another arrow" not in " ".join(asked("heads", mass="110 gr").cautions)


@pytest.mark.parametrize(
    ("question", "said"),
    [
        ("kind", "field"),
        ("blades", "12"),
        ("blades", "2.5"),
        ("blades", "0"),
        ("blade-area", "3 in"),
        ("blade-area", "90 in2"),
        ("width", "9 in"),
        ("long", "1 ft"),
        ("mass", "9000 gr"),
        ("distance", "2 yd"),
        ("each", "0"),
    ],
)
def test_bad_input_names_its_question(question: str, said: str) -> None:
    with pytest.raises(InputError) as error:
        asked("heads", example(), **{question: said})
    assert error.value.place.field == question


def test_a_bare_shaft_with_a_broadhead_cannot_be_logged() -> None:
    hit = {"shaft": 7, "state": "bare", "hole": "right 1 in", "head": HeadKind.FIXED.value}
    with pytest.raises(InputError, match="bare"):
        with_event(example(), {"kind": "shots", "distance": "20 yd", "hits": [hit]})


def test_kept_answers_are_used_again(tmp_path: Path) -> None:
    path = tmp_path / "shed.toml"
    logbook.create(path, logbook.template(filled=True))
    keep_answers(path, task_named("heads"), {"distance": ("31 yd",), "blades": ("2",)})
    found = asked("heads", start_bench(path.read_text(encoding="utf-8")))
    assert "At 31 yd" in found.answer
    assert found.tables == asked("heads", distance="31 yd", blades="2").tables
