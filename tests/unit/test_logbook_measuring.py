"""Measuring the bow anew: weighings, clicks, where the rest stands; shafts set aside; checks made again; the sight."""

from __future__ import annotations

import pytest
from tests.unit.test_logbook_replay import BARE_SESSION, CUT, MARK, bench, event, mirrored

from spinewright.errors import EvidenceError
from spinewright.evidence import archer_scatter, gap, odd_shaft
from spinewright.evidence.checks import BOW_ITEMS, CONTACT_ITEMS
from spinewright.evidence.values import Impact, NockSeries, Tear, Visit
from spinewright.logbook import BenchState, Knob, parse, put_back, replay
from spinewright.units import DEGREE, INCH, POUND_FORCE

WALK = event(
    "shots",
    'distance = "20 yd"',
    "hits = [",
    '  { shaft = 1, state = "fletched", hole = "left 0.4 in, high 0.2 in" },',
    '  { shaft = 2, state = "fletched", hole = "right 0.2 in" },',
    '  { shaft = 5, state = "bare", hole = "left 1.9 in, high 0.6 in" },',
    '  { shaft = 6, state = "bare", hole = "left 5 in, low 2 in" },',
    "]",
)
LB = POUND_FORCE


def walks(state: BenchState) -> list[Visit]:
    return [seen.what for seen in state.history.seen if isinstance(seen.what, Visit)]


def weights(state: BenchState) -> list[float]:
    """Peak weight [lb] of every setup in order."""
    return [setup.present_peak_weight / LB for setup in state.history.setups]


def one_of_setups(state: BenchState) -> bool:
    """Start, now and all that was seen stand among the setups, as whoever looks them up there takes for granted."""
    setups = set(state.history.setups)
    return {state.start, state.now, *(seen.setup for seen in state.history.seen)} <= setups


class TestWeighed:
    def test_a_weighing_is_a_better_reading_of_the_same_bow(self) -> None:
        state = bench(WALK + event("bow check", 'weighed = "56.4 lb"'))
        assert weights(state) == pytest.approx([56.4])
        assert state.start == state.now == state.history.start == state.history.seen[0].setup
        assert not state.notices
        assert one_of_setups(state)

    def test_moves_made_before_lead_to_the_bow_as_it_is_known_now(self) -> None:
        moved = event("rest moved", 'measured = "left 0.01 in"')
        state = bench(WALK + moved + event("settings good") + WALK + event("bow check", 'weighed = "56.4 lb"'))
        assert weights(state) == pytest.approx([56.4, 56.4])
        assert state.moves[0].before == state.start
        assert state.moves[0].after == state.now == state.last_good
        assert one_of_setups(state)

    def test_turned_bolts_stay_a_change(self) -> None:
        turned = event("bolts turned", 'both_bolts = "out 1/2"')
        state = bench(WALK + turned + WALK + event("bow check", 'weighed = "55.7 lb"') + WALK)
        # reckoned 57.3 - 1.2 lb before it was weighed; what was shot with it had 55.7 lb as well
        assert weights(state) == pytest.approx([57.3, 55.7])
        assert [seen.setup.present_peak_weight / LB for seen in state.history.seen] == pytest.approx([57.3, 55.7, 55.7])
        assert one_of_setups(state)

    def test_bolts_turned_back_and_weighed_tell_of_the_start(self) -> None:
        out, back = (event("bolts turned", f'both_bolts = "{way} 1/2"') for way in ("out", "in"))
        state = bench(WALK + out + WALK + back + event("bow check", 'weighed = "56.9 lb"'))
        assert state.start == state.now
        assert weights(state) == pytest.approx([56.9, 56.9 - 1.2, 56.9])

    def test_work_on_the_bow_stays_a_change(self) -> None:
        string = event("bow changed", 'what = "new string"', 'weighed = "58.1 lb"')
        state = bench(WALK + string + WALK + event("bow check", 'weighed = "58.6 lb"'))
        assert weights(state) == pytest.approx([57.3, 58.6])
        assert state.start.present_peak_weight == pytest.approx(57.3 * LB)
        assert state.moves[0].before == state.start
        assert one_of_setups(state)

    def test_work_that_changed_no_number_still_parts_before_from_after(self) -> None:
        string = event("bow changed", 'what = "new cable"')
        state = bench(WALK + string + WALK + event("bow check", 'weighed = "58.6 lb"'))
        assert [seen.setup.present_peak_weight / LB for seen in state.history.seen] == pytest.approx([57.3, 58.6])
        assert one_of_setups(state)

    def test_a_weight_far_off_is_said(self) -> None:
        state = bench(event("bow check", 'weighed = "53 lb"'))
        assert "where 57.3 lb was known" in state.notices[0]
        assert "'bow changed'" in state.notices[0]


class TestRestMeasured:
    UP = event("rest moved", 'clicks = "up 2"')

    def test_the_size_of_a_click_counts_for_the_clicks_before(self) -> None:
        state = bench(self.UP + WALK + event("rest measured", 'height_per_click = "0.0016 in"'))
        assert state.rest_known
        assert state.notices == ()
        assert state.now.rest_z == pytest.approx(0.0032 * INCH)
        assert state.history.seen[0].setup == state.now
        assert state.ledger[0].total == pytest.approx(0.0032 * INCH)
        assert one_of_setups(state)

    def test_what_was_measured_counts_before_what_the_file_had(self) -> None:
        left = event("rest moved", 'clicks = "left 10"')
        state = bench(left + event("rest measured", 'sideways_per_click = "0.0024 in"'))
        assert state.now.rest_y == pytest.approx(0.024 * INCH)

    def test_one_direction_measured_leaves_the_other_unknown(self) -> None:
        unsized = BARE_SESSION.replace('sideways_per_click = "0.002 in"', "")
        moved = event("rest moved", 'clicks = "left 3, up 2"')
        state = bench(moved + event("rest measured", 'sideways_per_click = "0.002 in"'), unsized)
        assert not state.rest_known
        assert len(state.notices) == 1
        assert "height_per_click" in state.notices[0]

    HEIGHT = BARE_SESSION.replace('centre_shot = "13/16 in"', 'centre_shot = "13/16 in"\nrest_height = "1 1/4 in"')

    def test_where_it_stands_tells_the_size_of_the_clicks_before(self) -> None:
        moves = self.UP + WALK + event("rest moved", 'clicks = "up 4"') + WALK
        state = bench(moves + event("rest measured", 'rest_height = "1.259 in"'), self.HEIGHT)
        assert state.rest_known
        assert state.now.rest_z == pytest.approx(0.009 * INCH, abs=1e-9)
        # six clicks made 0.009 in, so the first two made 0.003 in
        assert [seen.setup.rest_z for seen in state.history.seen] == pytest.approx(
            [0.003 * INCH, 0.009 * INCH], abs=2e-9
        )
        assert state.now.bow.rest.per_click_height == pytest.approx(0.0015 * INCH, abs=1e-9)
        assert one_of_setups(state)

    def test_clicks_that_cancel_leave_only_the_place_known(self) -> None:
        there_and_back = self.UP + WALK + event("rest moved", 'clicks = "down 2"')
        state = bench(there_and_back + event("rest measured", 'rest_height = "1.25 in"'), self.HEIGHT)
        assert state.rest_known
        assert state.now.rest_z == 0.0
        assert state.now.bow.rest.per_click_height is None

    def test_the_last_move_was_as_long_as_it_measures(self) -> None:
        moves = event("rest moved", 'clicks = "left 5"') + WALK + event("rest moved", 'clicks = "left 5"') + WALK
        state = bench(moves + event("rest measured", 'centre_shot = "0.8345 in"'))
        first, second = (seen.setup.rest_y / INCH for seen in state.history.seen)
        assert (first, second) == pytest.approx((0.010, 0.022), abs=1e-6)
        assert state.ledger[-1].total == pytest.approx(0.022 * INCH, abs=1e-8)
        assert put_back(state) == ("Rest: 10 clicks (0.022 in) right.",)
        assert one_of_setups(state)

    def test_without_a_mark_at_the_start_it_says_what_is_missing(self) -> None:
        with pytest.raises(EvidenceError, match="rest_height was not noted at the start") as error:
            bench(event("rest measured", 'rest_height = "1 1/4 in"'))
        assert error.value.place.field == "event[1].rest_height"

    def test_another_rest_is_known_once_it_is_measured(self) -> None:
        other = event("bow changed", 'what = "new rest"', 'rest = { kind = "drop-away", drops_after = "5 in" }')
        moved = event("rest moved", 'clicks = "left 7"')
        state = bench(moved + other + WALK, self.HEIGHT)
        assert not state.rest_known
        measured = event("rest measured", 'centre_shot = "0.8225 in"', 'rest_height = "1.25 in"')
        state = bench(moved + other + WALK + measured, self.HEIGHT)
        assert state.rest_known
        assert state.now.rest_y == pytest.approx(0.010 * INCH, abs=1e-9)
        assert state.now.bow.rest.drops_after == pytest.approx(5 * INCH)
        assert state.now.bow.rest.per_click_sideways is None  # the old one's clicks say nothing of the new one's
        assert state.history.seen[0].setup == state.now
        assert one_of_setups(state)

    def test_the_same_for_a_left_hander(self) -> None:
        events = event("rest moved", 'clicks = "left 5"') + event("rest measured", 'centre_shot = "0.8245 in"')
        right, left = bench(events), replay(parse(mirrored(BARE_SESSION + events)))
        assert left.now.rest_y == right.now.rest_y == pytest.approx(0.012 * INCH, abs=1e-9)

    def test_an_undo_takes_it_back(self) -> None:
        measured = event("rest measured", 'id = "m"', 'height_per_click = "0.0016 in"')
        state = bench(self.UP + measured + event("undo", 'undoes = "m"'))
        assert not state.rest_known
        assert state.now.rest_z == 0.0


class TestSetAside:
    ASIDE = event("shaft set aside", 'id = "aside"', "shaft = 6")

    def counted(self, state: BenchState) -> list[list[int]]:
        return [[i.shaft for i in visit.impacts if i.counts] for visit in walks(state)]

    def test_its_holes_are_kept_and_no_longer_count(self) -> None:
        state = bench(WALK + WALK + self.ASIDE)
        assert self.counted(state) == [[1, 2, 5], [1, 2, 5]]
        assert [len(visit.impacts) for visit in walks(state)] == [4, 4]
        assert state.history.set_aside == (6,)
        apart = gap(walks(state)[0])
        assert apart is not None
        assert (apart.y, apart.z) == pytest.approx((1.8 * INCH, 0.5 * INCH))
        assert apart.bare.shafts == (5,)
        scatter = archer_scatter(walks(state), bare=True)
        assert scatter is None  # the one shaft left made one hole a walk
        assert odd_shaft(walks(state), bare=True).compared < 2

    def test_nor_does_what_it_shoots_later(self) -> None:
        state = bench(self.ASIDE + WALK)
        assert self.counted(state) == [[1, 2, 5]]
        assert "log 'nock turned' with shaft = 6" in state.notices[0]

    def test_with_its_nock_turned_only_the_new_holes_count(self) -> None:
        turned = event("nock turned", 'turned = "clockwise 40 deg"', "shaft = 6")
        for before in (WALK, WALK + self.ASIDE):
            state = bench(before + turned + WALK)
            assert self.counted(state) == [[1, 2, 5], [1, 2, 5, 6]]
            assert state.history.set_aside == ()
            assert state.now == state.start  # the set stays as it was
            assert all("was turned alone" in one for one in state.notices)

    def test_an_undo_brings_it_back(self) -> None:
        state = bench(WALK + self.ASIDE + event("undo", 'undoes = "aside"'))
        assert self.counted(state) == [[1, 2, 5, 6]]
        assert state.history.set_aside == ()

    def test_a_cut_seats_its_nock_anew(self) -> None:
        state = bench(WALK + MARK + CUT + WALK + self.ASIDE)
        assert self.counted(state) == [[1, 2, 5, 6], [1, 2, 5]]
        state = bench(WALK + self.ASIDE + MARK + CUT + WALK)
        assert self.counted(state) == [[1, 2, 5], [1, 2, 5, 6]]
        assert state.history.set_aside == ()

    def test_another_point_does_not(self) -> None:
        state = bench(WALK + self.ASIDE + event("point changed", 'mass = "90 gr"') + WALK)
        assert self.counted(state) == [[1, 2, 5], [1, 2, 5]]

    def test_tears_go_too(self) -> None:
        tear = event("tear", "shaft = 6", 'state = "bare"', 'distance = "6 ft"', 'tail = "left 0.3 in"')
        for events in (tear + self.ASIDE, self.ASIDE + tear):
            seen = bench(events).history.seen[0].what
            assert isinstance(seen, Tear)
            assert not seen.counts

    def test_a_shaft_has_a_number_from_one_up(self) -> None:
        with pytest.raises(EvidenceError, match="cannot have the number 0") as error:
            bench(event("shaft set aside", "shaft = 0"))
        assert error.value.place.field == "event[1].shaft"


class TestChecksAgain:
    CHECKS = (
        event("bow check", *(f"{name} = true" for name in BOW_ITEMS)),
        event("contact check", *(f"{name} = true" for name in CONTACT_ITEMS)),
    )

    def test_both_after_the_last_change(self) -> None:
        bow, contact = self.CHECKS
        moved = event("rest moved", 'measured = "left 0.01 in"')
        assert not bench().history.checked_since_change
        assert bench(bow + contact + WALK).history.checked_since_change
        assert not bench(bow + contact + moved + WALK).history.checked_since_change
        assert not bench(bow + contact + moved + bow).history.checked_since_change
        assert not bench(
            bow + contact + moved + bow + event("contact check", "vanes = true")
        ).history.checked_since_change
        assert bench(bow + contact + moved + contact + WALK + bow).history.checked_since_change

    def test_measuring_and_a_turned_sight_change_neither_bow_nor_arrow(self) -> None:
        bow, contact = self.CHECKS
        after = event("sight moved", 'clicks = "up 2"') + event("bow check", 'weighed = "57 lb"')
        assert bench(bow + contact + after).history.checked_since_change


class TestSight:
    BARE = event("shots", 'distance = "20 yd"', 'hits = [{ shaft = 5, state = "bare", hole = "left 2 in" }]')
    FLETCHED = event("shots", 'distance = "20 yd"', 'hits = [{ shaft = 1, state = "fletched", hole = "left 2 in" }]')
    SIGHT = event("sight moved", 'clicks = "left 2"')

    def test_every_walk_knows_how_often_the_sight_was_moved(self) -> None:
        state = bench(WALK + self.SIGHT + WALK + self.SIGHT + WALK)
        assert [visit.sight for visit in walks(state)] == [0, 1, 2]
        assert not state.notices

    def test_shot_apart_with_the_sight_moved_is_said(self) -> None:
        assert "the sight was moved in between" in bench(self.BARE + self.SIGHT + self.FLETCHED).notices[0]
        for fine in (
            self.BARE + self.FLETCHED + self.SIGHT,
            self.SIGHT + self.BARE + self.FLETCHED,
            self.BARE + self.SIGHT + self.BARE,
            self.BARE + self.SIGHT + self.FLETCHED.replace("20 yd", "30 yd"),
            self.BARE + event("nock turned", 'turned = "clockwise 20 deg"') + self.SIGHT + self.FLETCHED,
        ):
            assert not bench(fine).notices


def test_the_angle_of_the_set_is_not_that_of_one_shaft() -> None:
    state = bench(event("nock turned", 'turned = "clockwise 40 deg"', "shaft = 6"))
    assert state.ledger == ()
    assert state.now.nock_angle == 0.0
    state = bench(event("nock turned", 'turned = "clockwise 40 deg"'))
    assert [entry.knob for entry in state.ledger] == [Knob.NOCK]
    assert state.now.nock_angle == pytest.approx(40 * DEGREE)


def test_a_hole_counts_unless_it_was_called_bad_or_its_shaft_set_aside() -> None:
    assert Impact(1, True, 0.0, 0.0).counts
    assert not Impact(1, True, 0.0, 0.0, called_bad=True).counts
    assert not Impact(1, True, 0.0, 0.0, set_aside=True).counts


class TestSeriesOnTarget:
    def series(self, *more: str) -> str:
        return event(
            "nock series",
            "shaft = 6",
            'state = "bare"',
            'distance = "20 yd"',
            'through = "target"',
            'turning = "clockwise"',
            'readings = [{ nock = "0 deg", hole = "left 2 in" }, { nock = "20 deg", hole = "left 1.5 in" }]',
            *more,
        )

    def test_the_fletched_group_goes_with_it_and_mirrors(self) -> None:
        text = self.series('fletched_centre = "left 0.5 in, low 0.2 in"', "fletched_shots = 3")
        for state in (bench(text), replay(parse(mirrored(BARE_SESSION + text)))):
            found = state.history.seen[0].what
            assert isinstance(found, NockSeries)
            assert found.fletched == pytest.approx((0.5 * INCH, -0.2 * INCH))
            assert found.fletched_shots == 3
        plain = bench(self.series()).history.seen[0].what
        assert isinstance(plain, NockSeries)
        assert plain.fletched is None

    def test_without_its_number_it_is_refused(self) -> None:
        with pytest.raises(EvidenceError, match="how many fletched arrows") as error:
            bench(self.series('fletched_centre = "left 0.5 in"'))
        assert error.value.place.field == "event[1].fletched_shots"

    def test_a_shaft_set_aside_takes_its_series_along_but_a_turned_nock_does_not(self) -> None:
        aside = event("shaft set aside", "shaft = 6")
        turned = event("nock turned", 'turned = "clockwise 20 deg"', "shaft = 6")
        for events, gone in ((self.series() + aside, True), (self.series() + turned, False)):
            found = bench(events).history.seen[0].what
            assert isinstance(found, NockSeries)
            assert found.set_aside is gone
