"""Work on the bow: what was shot before counts with more doubt, new shots settle it, and what is forgotten is said."""

from __future__ import annotations

from functools import lru_cache
from typing import Any

import numpy as np
import pytest

from spinewright.advice import MoveKind
from spinewright.belief import Belief, BeliefSettings, believe, break_ground
from spinewright.belief.eras import REST_SD, TOO_WEAK_SD, USUAL_ARROW, USUAL_REST
from spinewright.belief.kept import KEPT_OF_ANSWERS, KEPT_OF_BOW, KEPT_OF_PLACES
from spinewright.belief.response import Latent, ResponsePrior, Theta
from spinewright.evidence import Changed
from spinewright.logbook import events as ev
from spinewright.logbook.works import changed_by, forgotten
from spinewright.outlook.carried_over import carried_over
from spinewright.units import INCH, POUND_FORCE, Hand
from spinewright.workflow import OpenBench, next_move, with_event
from spinewright.workflow.situations import situation_of
from tests.around.benches import example

_SETTINGS = BeliefSettings(bows=100, particles=200)


def _walk(bench: OpenBench, bare: float) -> OpenBench:
    """Two fletched on the spot, two bare ``bare`` inches to the archer's own away side (negative the other)."""
    right = bench.state.scope.hand is Hand.RIGHT
    side = "right" if (bare > 0) is right else "left"
    hits = [{"shaft": k, "state": "fletched", "hole": hole} for k, hole in ((1, "high 0.2 in"), (2, "low 0.2 in"))]
    hits += [
        {"shaft": k, "state": "bare", "hole": f"{side} {abs(bare) + off:g} in"} for k, off in ((7, 0.15), (8, -0.15))
    ]
    return with_event(bench, {"kind": "shots", "distance": "20 yd", "target": "fresh foam", "hits": hits})


def _checked(bench: OpenBench) -> OpenBench:
    items = "cam_timing cam_lean axle_and_brace peak_weight limb_bolts_equal string_marks nock_fit nock_height"
    bow = dict.fromkeys((*items.split(), "centre_shot", "rest_drop"), True)
    found = with_event(bench, {"kind": "bow check", **bow})
    return with_event(found, {"kind": "contact check", **dict.fromkeys(("vanes", "launcher", "cables", "shelf"), True)})


@lru_cache(maxsize=4)
def _shot(hand: Hand = Hand.RIGHT) -> OpenBench:
    """Checked and shot twice, the bare holes two inches off."""
    return _walk(_walk(_checked(example(hand)), 2.0), 2.0)


def _worked(bench: OpenBench, what: str, **measured: Any) -> OpenBench:  # noqa: ANN401 - whatever the event takes
    return _checked(with_event(bench, {"kind": "bow changed", "what": what, **measured}))


def _believed(bench: OpenBench) -> Belief:
    history = situation_of(bench.state).history
    return believe(break_ground(history, (), (), _SETTINGS), history, bench.state.archer)


def _ends(bench: OpenBench) -> np.ndarray:
    """Low and high ends (2, 2) of the present gap's central 80 % [in]."""
    found = np.quantile(_believed(bench).gap(bench.state.now), (0.1, 0.9), axis=0)
    return np.asarray(found) / INCH


def _heavier() -> dict[str, str]:
    return {"weighed": f"{_shot().state.now.present_peak_weight / POUND_FORCE + 3.0:.2f} lb"}


def test_another_draw_weight_widens_the_gap_and_new_shots_settle_it() -> None:
    before = _ends(_shot())
    after = _worked(_shot(), "three pounds more weight", **_heavier())
    wider = _ends(after)
    assert np.all(wider[1] - wider[0] > 1.3 * (before[1] - before[0]))
    settled = _walk(_walk(after, 3.5), 3.5)  # three pounds more read an inch and a half weaker
    low, high = _ends(settled)[:, 0]
    assert low < -3.5 < high
    assert high - low < 0.8 * (wider[1] - wider[0])[0]


def test_a_new_string_may_have_put_the_holes_on_the_other_side() -> None:
    after = _worked(_shot(), "new string")
    settled = _believed(_walk(_walk(after, -2.0), -2.0))
    low, high = np.quantile(settled.gap(settled.ground.history.now)[:, 0], (0.1, 0.9)) / INCH
    assert low < 2.0 < high
    assert high - low < 2.5
    assert not settled.health.conflicting


def test_the_advice_starts_from_what_the_task_foretells() -> None:
    state = _shot().state
    foretold = carried_over(state.history, state.archer, Changed.STRING, state.now, state.archer, _SETTINGS).after
    wide = np.subtract(foretold.high, foretold.low) / INCH
    low, high = _ends(_worked(_shot(), "new string"))
    # The task carries the belief forward; the advice holds both sides of the work against the prior, which knows that
    # no bow's gap is boundless: never wider by much, and far from as narrow as before the work.
    assert np.all((high - low > 0.4 * wide) & (high - low < 1.3 * wide))


def test_left_is_the_mirror_of_right() -> None:
    right, left = (_ends(_worked(_shot(hand), "new string")) for hand in Hand)
    assert left == pytest.approx(right, abs=1e-6)  # inside, both stand in the right-handed frame


def test_next_says_what_it_forgot_and_asks_for_the_checks_and_fresh_shots() -> None:
    rough = BeliefSettings(bows=40, particles=40)
    found = next_move(with_event(_shot(), {"kind": "bow changed", "what": "new string"}), settings=rough)
    assert found.advice.move.move.kind is MoveKind.CHECK_BOW
    assert any("forgotten is nock height" in one and "more doubt" in one for one in found.state.notices)
    assert found.advice.diagnosis.reading is None  # what was shot before is no reading of the bow as it stands
    checked = next_move(_worked(_shot(), "new string"), settings=rough)
    assert checked.advice.move.move.kind is MoveKind.SHOOT


@pytest.mark.parametrize(
    ("what", "changed"),
    [
        ("new string, by a technician", (Changed.STRING,)),
        ("Bowstring and cables", (Changed.STRING,)),
        ("other modules", (Changed.CAM,)),
        ("limb bolts in two turns", (Changed.WEIGHT,)),
        ("other limbs", (Changed.CAM,)),
        ("another rest and a new string", (Changed.STRING, Changed.REST)),
        ("tuned by a technician", (Changed.STRING,)),
    ],
)
def test_words_tell_what_was_changed(what: str, changed: tuple[Changed, ...]) -> None:
    assert changed_by(ev.BowChanged(id="1", what=what)) == changed


def test_numbers_alone_are_another_weight() -> None:
    assert changed_by(ev.BowChanged(id="1", what="read it again", weighed=250.0)) == (Changed.WEIGHT,)


def test_what_is_said_to_be_forgotten_is() -> None:
    def said(changed: Changed) -> str:
        return forgotten((changed,)).partition("partly")[0]

    for changed in (Changed.STRING, Changed.CAM, Changed.REST, Changed.WEIGHT):
        bow, answers, places = KEPT_OF_BOW[changed], KEPT_OF_ANSWERS[changed], KEPT_OF_PLACES[changed]
        assert ("nock height" in said(changed)) is (bow.get("nock z", 1.0) == 0.0)
        assert ("nock travel" in said(changed)) is (bow.get("ramp z", 1.0) == 0.0)
        assert ("speed" in said(changed)) is (bow.get("ln force", 1.0) == 0.0)
        assert ("rest stands best" in said(changed)) is (places.get(Latent.REST_Y, 1.0) == 0.0)
        assert ("answers the rest" in said(changed)) is (answers.get(Theta.REST_Y, 1.0) == 0.0)


def test_the_usual_answers_are_those_of_the_prior() -> None:
    prior = ResponsePrior.of(example().state.archer, None, None)
    length, share, *rest = (slope.middle for slope in prior.slopes)
    assert (length, length * share) == USUAL_ARROW
    assert tuple(rest) == USUAL_REST
    assert prior.too_weak[1] == TOO_WEAK_SD
    assert prior.rest_sd == pytest.approx((REST_SD, REST_SD))
