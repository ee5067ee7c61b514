"""The next move from memory: objects by their schemas, the mirror between hands, a hunt another program plays."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from jsonschema_rs import Draft202012Validator, meta
from tests.coarse_maps import coarse_maps

from spinewright.advice import Move, MoveKind
from spinewright.advice.moves import rest_move
from spinewright.equipment import Setup
from spinewright.errors import InputError
from spinewright.logbook import template
from spinewright.units import Hand, System
from spinewright.workflow import (
    SCHEMAS,
    NextMove,
    OpenBench,
    Voice,
    forgiveness_map,
    map_wishes,
    next_move,
    schema,
    settings_for,
    sheet,
    start_bench,
    with_event,
)
from spinewright.workflow.mapping import _meeting
from spinewright.workflow.move_events import events_between

QUICK = settings_for(bows=60)
OTHER = {"left": "right", "right": "left", "clockwise": "counterclockwise", "counterclockwise": "clockwise"}
CHECKS: tuple[dict[str, object], ...] = (
    {
        "kind": "bow check",
        **dict.fromkeys(
            (
                "cam_timing", "cam_lean", "axle_and_brace", "peak_weight", "limb_bolts_equal",
                "string_marks", "nock_fit", "nock_height", "centre_shot", "rest_drop",
            ),
            True,
        ),
    },
    {"kind": "contact check", "vanes": True, "launcher": True, "cables": True, "shelf": True},
    {"kind": "safe length", "mark": "27 1/4 in", "helper": True, "backstop": True},
)  # fmt: skip


def _walk(*bare: str) -> dict[str, object]:
    hits: list[dict[str, object]] = [
        {"shaft": n, "state": "fletched", "hole": hole}
        for n, hole in enumerate(("left 0.4 in, high 0.2 in", "right 0.3 in", "low 0.2 in"), 1)
    ]
    hits += [
        {"shaft": 7 + n % 2, "state": "bare", "hole": hole, "nock_leans": "left 2 deg"} for n, hole in enumerate(bare)
    ]
    return {"kind": "shots", "distance": "20 yd", "target": "fresh foam", "hits": hits}


# invented; a right-hander whose bare shafts hit right and a little low, as too weak an arrow does ('common practice')
STORY: tuple[dict[str, object], ...] = (
    *CHECKS,
    _walk("right 2.1 in, low 0.6 in", "right 1.7 in, low 0.2 in", "right 2.6 in, low 0.3 in"),
    {"kind": "rest moved", "intended": "right 1/64 in"},
    _walk("right 1.1 in, low 0.4 in", "right 1.4 in, low 0.1 in", "right 1.6 in, low 0.3 in"),
)


def _mirrored(value: object) -> Any:  # noqa: ANN401 - an event may hold anything
    """The same words for the other hand: left for right, clockwise for counterclockwise."""
    if isinstance(value, dict):
        return {key: _mirrored(one) for key, one in value.items()}
    if isinstance(value, list):
        return [_mirrored(one) for one in value]
    if isinstance(value, str):
        return " ".join(OTHER.get(word, word) for word in value.split())
    return value


def _bench(*events: dict[str, object], hand: Hand = Hand.RIGHT, system: System = System.INCH) -> OpenBench:
    now = start_bench(template(hand, system, filled=True).replace("# points =", "points ="))
    for event in events:
        now = with_event(now, event if hand is Hand.RIGHT else _mirrored(event))
    return now


@pytest.fixture(scope="module")
def right() -> NextMove:
    return next_move(_bench(*STORY), settings=QUICK)


@pytest.fixture(scope="module")
def left() -> NextMove:
    return next_move(_bench(*STORY, hand=Hand.LEFT), settings=QUICK)


def _objects(node: Any) -> Iterator[dict[str, Any]]:  # noqa: ANN401 - a schema may hold anything
    if isinstance(node, dict):
        if node.get("type") == "object":
            yield node
        for inner in node.values():
            yield from _objects(inner)
    elif isinstance(node, list):
        for inner in node:
            yield from _objects(inner)


@pytest.mark.parametrize("name", [name for name in SCHEMAS if name != "parts"])
def test_schemas_are_valid_and_strict(name: str) -> None:
    found = schema(name)
    meta.validate(found)
    for one in _objects(found):
        if "kind" in one.get("properties", {}) and one["required"] == ["kind"]:
            continue  # an event: its keys depend on its kind, and the session file checks them
        if "properties" in one:
            assert one["additionalProperties"] is False
            assert sorted(one["required"]) == sorted(one["properties"])


def test_a_field_too_many_or_too_few_is_refused(right: NextMove) -> None:
    checker = Draft202012Validator(schema("next"))
    found = right.to_json()
    assert checker.is_valid(found)
    assert not checker.is_valid({**found, "more": 1})
    assert not checker.is_valid({key: value for key, value in found.items() if key != "move"})
    assert not checker.is_valid({**found, "version": 2})


def _told(found: NextMove, move: Move) -> dict[str, Any]:
    """The object of ``found`` with ``move`` chosen."""
    chosen = replace(found.advice.move, move=move)
    told: dict[str, Any] = replace(found, advice=replace(found.advice, move=chosen)).to_json()
    Draft202012Validator(schema("next")).validate(json.loads(json.dumps(told)))
    return told["move"]  # type: ignore[no-any-return]  # a part of an object of any shape


def test_moves_along_both_axes_and_from_further_away_keep_the_schema(right: NextMove) -> None:
    move = rest_move(right.situation.now, 4e-4, -8e-4)
    assert move is not None
    both = _told(right, move)
    assert both["kind"] == "move the rest sideways and in height"
    assert both["size"]["text"] == "0.0352 in"
    assert [event["kind"] for event in both["events"]] == ["rest moved"]
    assert both["put_back"].startswith("To put it back: move the rest")
    step = _told(right, Move(MoveKind.STEP_BACK, None, 30 * 0.9144, 11.0))
    assert step["kind"] == "step back"
    assert step["size"]["text"] == "30 yd"
    assert step["after"] is None
    assert step["events"] == []


def test_no_schema_of_that_name() -> None:
    with pytest.raises(ValueError, match="no schema is called 'parts'"):
        schema("parts")


@pytest.mark.parametrize("system", list(System))
def test_objects_keep_their_schema_before_anything_was_shot(system: System) -> None:
    now = _bench(system=system)
    Draft202012Validator(schema("next")).validate(json.loads(json.dumps(next_move(now, settings=QUICK).to_json())))
    Draft202012Validator(schema("sheet")).validate(json.loads(json.dumps(sheet(now).to_json())))


def test_the_same_bench_gives_the_same_answer(right: NextMove) -> None:
    assert next_move(_bench(*STORY), settings=QUICK).to_json() == right.to_json()


def test_a_left_hander_gets_the_mirrored_answer(right: NextMove, left: NextMove) -> None:
    def told(found: NextMove) -> str:
        text = json.dumps({**found.to_json(), "hand": ""}).replace("-handed", "")
        return text

    mine, theirs = json.loads(told(right)), json.loads(told(left))
    assert _numbers(theirs) == _numbers(_swapped(mine))
    assert theirs["explanation"]["move"] == _mirror_sentence(mine["explanation"]["move"])
    assert theirs["move"]["events"] == _mirrored(mine["move"]["events"])
    assert [one["words"] for one in theirs["others"]] == [_mirror_sentence(one["words"]) for one in mine["others"]]


def _mirror_sentence(text: str) -> str:
    return " ".join(
        OTHER[bare] + word[len(bare) :] if (bare := word.rstrip(".,;()")) in OTHER else word for word in text.split(" ")
    )


def _swapped(node: Any) -> Any:  # noqa: ANN401 - an object may hold anything
    """The mirrored object: 'left' numbers and turns change sign, sideways bounds change places."""
    if isinstance(node, list):
        return [_swapped(one) for one in node]
    if not isinstance(node, dict):
        return node
    found = {key: _swapped(value) for key, value in node.items()}
    if "left" in found and "up" in found:
        found["left"] = -found["left"]
    if "nock_turned_clockwise" in found:
        found["nock_turned_clockwise"]["value"] = -found["nock_turned_clockwise"]["value"]
    if isinstance(found.get("low"), dict) and isinstance(found.get("high"), dict):
        low, high = found["low"], found["high"]
        low["left"], high["left"] = high["left"], low["left"]
    return found


def _numbers(node: Any, path: str = "") -> dict[str, float]:  # noqa: ANN401 - an object may hold anything
    if isinstance(node, dict):
        return {k: v for key, one in node.items() for k, v in _numbers(one, f"{path}.{key}").items()}
    if isinstance(node, list):
        return {k: v for i, one in enumerate(node) for k, v in _numbers(one, f"{path}[{i}]").items()}
    if isinstance(node, (int, float)) and not isinstance(node, bool):
        return {path: float(node) + 0.0}
    return {}


def test_the_sheet_of_a_left_hander_is_mirrored() -> None:
    mine, theirs = (sheet(_bench(*STORY, hand=hand)).to_json() for hand in (Hand.RIGHT, Hand.LEFT))
    signed = _swapped(json.loads(json.dumps(mine)))
    for entry in signed["ledger"]:
        for key in ("intended", "measured", "clicks", "total", "total_clicks"):
            entry[key] = None if entry[key] is None else -entry[key]
    assert _numbers(json.loads(json.dumps(theirs))) == _numbers(signed)


def test_a_hunt_can_be_played_from_the_answers(right: NextMove) -> None:
    """Every move that leads to a setup comes with events that lead there."""
    now = _bench(*STORY)
    moves = [right.advice.move.move, *(one.move for one in right.advice.others)]
    moves += [one.move for one in right.advice.refused]
    played = [move for move in moves if move.after is not None]
    assert len(played) > 6
    voice = Voice(Hand.RIGHT, System.INCH)
    for move in played:
        assert move.after is not None
        reached = now
        for event in events_between(now.state.now, move.after, voice):
            reached = with_event(reached, event)
        _same_setup(reached.state.now, move.after)


def _same_setup(reached: Setup, wanted: Setup) -> None:
    # written to a ten-thousandth of an inch, a tenth of a grain
    for name in ("rest_y", "rest_z", "nock_z", "nock_angle"):
        assert getattr(reached, name) == pytest.approx(getattr(wanted, name), abs=2e-6)
    assert reached.bolt_turns == pytest.approx(wanted.bolt_turns)
    assert reached.build.carbon_length == pytest.approx(wanted.build.carbon_length, abs=3e-6)
    assert reached.build.throat_length == pytest.approx(wanted.build.throat_length, abs=3e-6)
    assert reached.build.head.mass == pytest.approx(wanted.build.head.mass, abs=4e-6)


@pytest.mark.parametrize("hand", list(Hand))
def test_another_shaft_is_logged_as_it_is(hand: Hand) -> None:
    shafts = (
        'shafts = [{ spine = "400", spine_test = "current", weight = "7.9 gr/in", '
        'outer_diameter = "0.246 in", inner_diameter = "0.203 in", uncut_length = "32 in" }]\n'
    )
    text = template(hand, filled=True).replace("[owned]", f"[owned]\n{shafts}#")
    now = start_bench(text)
    [shaft] = now.state.owned.shafts
    after = replace(now.state.now, build=replace(now.state.now.build, shaft=shaft), nock_angle=0.0)
    for event in events_between(now.state.now, after, Voice(hand, System.INCH)):
        now = with_event(now, event)
    built = now.state.now.build.shaft
    for name in ("static_spine", "linear_density", "outer_diameter", "inner_diameter", "uncut_length"):
        assert getattr(built, name) == pytest.approx(getattr(shaft, name), rel=1e-4)


@pytest.mark.parametrize(
    ("level", "sizes", "told"),
    [
        ("champion", {}, "'champion' is no level of skill"),
        ("", {"sway": "1 in"}, "'sway' is no mistake that can be given a size"),
        ("", {"creep": "3 in"}, "'3 in' is no size from one shot to the next"),
        ("", {"creep": "1 lb"}, "lb"),
    ],
)
def test_sizes_that_cannot_be_are_refused_in_words(level: str, sizes: dict[str, str], told: str) -> None:
    with pytest.raises(InputError, match=told):
        map_wishes(level=level, sizes=sizes)


def test_a_map_keeps_its_two_things_apart_and_shows_progress() -> None:
    shares: list[float] = []
    wishes = map_wishes(distance="50 yd", face="122 cm", bows=20, level="expert", sizes={"creep": "1/8 in", "rest": ""})
    with coarse_maps():
        found = forgiveness_map(_bench(*STORY), wishes, progress=shares.append)
    assert shares == sorted(shares)
    assert shares[-1] == pytest.approx(1.0)
    assert 0.0 < shares[0] < 1.0
    made = json.loads(json.dumps(found.to_json()))
    Draft202012Validator(schema("map")).validate(made)
    assert len(made["builds"]) == len(made["lengths"]) * len(made["points"])
    assert made["distance"]["value"] == pytest.approx(50 * 0.9144)
    assert made["own_mistakes"]["now"]["points"] >= 0.0
    sizes = {one["mistake"]: one["size"] for one in made["own_mistakes"]["now"]["mistakes"]}
    assert made["skill"] == "expert"
    assert sizes["creeping forward before release"] == "0.125 in"
    assert "as chosen. Given by you: creeping forward before release." in made["own_mistakes"]["sizes"]
    assert made["hidden_spine"] is not None  # the rest stands away from its start in this story
    assert [one.point for one in found.meetings] == [one["mass"]["value"] for one in made["points"] if one["owned"]]
    for one in found.meetings:
        if one.between is not None:
            assert one.between[0] <= one.between[1]
        if one.length is not None:
            assert one.between is not None
            assert one.between[0] <= one.length <= one.between[1]
    # the present build stands on the map, shot by the same plausible bows: one number, whoever quotes it
    here = next(
        one
        for one in made["builds"]
        if one["length"] == pytest.approx(made["here"]["length"]["value"])
        and one["point"] == pytest.approx(made["here"]["point"]["value"])
    )
    assert made["own_mistakes"]["now"]["all"]["text"] == here["own_mistakes"]["text"]
    assert made["heads_and_differences"]["now"]["apart"]["text"] == here["heads_apart"]["text"]


def test_where_bare_meets_fletched_is_looked_up_between_the_builds() -> None:
    lengths = np.array([0.70, 0.71, 0.72])
    middle = np.array([-4e-3, -1e-3, 2e-3])  # straight: nothing at 0.71 + 0.01 / 3
    narrow = _meeting(7e-3, lengths, np.stack([middle - 1e-4, middle, middle + 1e-4]))
    assert narrow.length is not None
    assert narrow.between is not None
    assert narrow.length == pytest.approx(0.71 + 0.01 / 3)
    assert narrow.between[0] <= narrow.length <= narrow.between[1]
    assert narrow.between[1] - narrow.between[0] < 1e-3
    wide = _meeting(7e-3, lengths, np.stack([middle - 1.5e-3, middle, middle + 1.5e-3]))
    # the bounds cross nothing 0.005 m to either side of the middle (computed from the slope, 0.3 m/m)
    assert wide.between == pytest.approx((0.71 + 0.01 / 3 - 5e-3, 0.71 + 0.01 / 3 + 5e-3), abs=1e-4)


def test_the_face_of_the_archers_score_is_known() -> None:
    text = (Path(__file__).parents[1] / "data" / "invented_bench.toml").read_text(encoding="utf-8")
    assert start_bench(text).state.face == ""
    told = "group_shots = 5\nscore_face = "
    assert start_bench(text.replace("group_shots = 5", f'{told}"40 cm"')).state.face == "40 cm"
    with pytest.raises(InputError, match="no face is called"):
        start_bench(text.replace("group_shots = 5", f'{told}"barn door"'))


def test_a_face_nobody_knows_is_refused_before_anything_is_computed() -> None:
    with pytest.raises(InputError, match="no face is called 'barn door'"):
        forgiveness_map(_bench(), map_wishes(face="barn door"))
