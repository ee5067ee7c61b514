"""The long try of a logbook of years, in small: every page answers, and `next` is worked out on both logbooks."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from soak.served import served
from soak.ten_years import build, drawn_bows
from soak.years import FIRST, look, thought
from soak.years_exchange import exchanged, missing
from soak.years_part import alone

from spinewright.web.pages import PLACES
from spinewright.workflow.benches import open_benches


def test_bows_are_shot_unevenly_and_as_often_as_was_asked_together() -> None:
    bows = drawn_bows(200, 200_000, np.random.default_rng(1))
    assert 200_000 <= sum(one.shots for one in bows) < 200_200
    assert max(one.shots for one in bows) > 4_000
    assert min(one.shots for one in bows) >= 6
    assert len({one.id for one in bows}) == 200


def test_a_whole_logbook_is_the_same_in_another_one_and_what_is_missing_there_is_told(tmp_path: Path) -> None:
    rng = np.random.default_rng(3)
    build(tmp_path / "one", drawn_bows(3, 150, rng), rng)
    found = exchanged(tmp_path / "one", tmp_path / "two", tmp_path / "all.json")
    assert found.differs == ()
    assert (found.benches, found.starts) == (3, 3)
    benches = open_benches(tmp_path / "one")
    whole = benches.wholes()
    benches.close()
    assert found.events == sum(len(one.events) for one in whole) > 25
    assert found.taps == sum(len(one.taps) for one in whole) > 30
    last = whole[2]
    later = replace(last.taps[0], saved=last.taps[-1].saved)
    spoilt = (
        replace(last, events=last.events[1:]),
        replace(last, taps=(later, *last.taps[1:])),
        replace(last, row=replace(last.row, name="another")),
    )
    for one in spoilt:
        assert len(list(missing(whole, (*whole[:2], one)))) == 1
    assert len(list(missing(whole, whole[:2]))) == 1


@pytest.mark.endurance
def test_every_page_of_a_long_logbook_answers_and_the_same_bow_stands_alone_too(tmp_path: Path) -> None:
    rng = np.random.default_rng(2)
    bows = drawn_bows(4, 600, rng)
    build(tmp_path / "large", bows, rng)
    alone(tmp_path / "large", tmp_path / "small", bows[1])
    texts = []
    for place in ("large", "small"):
        benches = open_benches(tmp_path / place)
        texts.append(benches.bench(bows[1].id).text)
        benches.close()
    assert texts[0] == texts[1]
    with served(tmp_path / "large") as port:
        found = look(port, bows, rng)
        assert thought(port, bows[1].id, 50) > 0.0
    assert found.errors == []
    assert set(found.times) >= {*PLACES, FIRST, "the list of benches", "export", "a tap"}
