"""Every route of the page, asked from its own description and with spoilt bodies of pages: none fails."""

from __future__ import annotations

import warnings

from hypothesis import given
from hypothesis import strategies as st
from soak.bad_input.requests import ODD, spoiled


def test_no_route_answers_with_a_fault_of_the_program() -> None:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # of libraries that only this tool loads
        from soak.http_part import asked_everything

        found = asked_everything(6, 11)
    assert found.faults == {}
    assert len(found.statuses) > 25
    done = {route for route, counted in found.statuses.items() if any(status < 300 for status in counted)}
    assert len(done) > 18  # it is no use to be refused everywhere
    assert "PUT /api/benches/{bench}/events/{event}" in done


@given(st.lists(st.integers(0, 255), max_size=9))
def test_spoiling_leaves_the_good_body_alone(choices: list[int]) -> None:
    good = {"a": [1, {"b": 2}], "c": "x"}
    made = spoiled(good, choices)
    assert good == {"a": [1, {"b": 2}], "c": "x"}
    assert len(choices) >= 3 or made == good
    assert len(ODD) > 20
