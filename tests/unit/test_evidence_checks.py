"""The bow check and the contact check: what is in order, what is wrong, what nobody looked at."""

from __future__ import annotations

from dataclasses import fields

from spinewright.evidence import BowCheck, ContactCheck, bow_check_state, check_caution, contact_check_state
from spinewright.evidence.checks import BOW_ITEMS, CONTACT_ITEMS

ALL_WELL = BowCheck(**{f.name: True for f in fields(BowCheck)})
CLEAN = ContactCheck(**{f.name: True for f in fields(ContactCheck)})


def test_every_item_has_its_plain_words() -> None:
    assert list(BOW_ITEMS) == [f.name for f in fields(BowCheck)]
    assert list(CONTACT_ITEMS) == [f.name for f in fields(ContactCheck)]


def test_items_are_sorted_into_in_order_wrong_and_missing() -> None:
    state = bow_check_state(BowCheck(cam_timing=True, rest_drop=False))
    assert state.in_order == ("cam timing",)
    assert state.wrong == ("rest drop",)
    assert len(state.missing) == 8
    assert not state.complete
    assert not state.passed
    assert bow_check_state(ALL_WELL).passed
    assert contact_check_state(CLEAN).passed
    touched = contact_check_state(ContactCheck(True, True, False, True))
    assert touched.complete
    assert not touched.passed
    assert touched.wrong == ("powder on the cables",)


def test_no_check_is_all_missing() -> None:
    assert len(bow_check_state(None).missing) == 10
    assert len(contact_check_state(None).missing) == 4


def test_the_caution_names_what_stands_in_the_way() -> None:
    assert check_caution(ALL_WELL, CLEAN) == ""
    assert "has not been made" in check_caution(None, CLEAN)
    assert "no cut is proposed" in check_caution(None, CLEAN)
    assert "looks like spine" in check_caution(ALL_WELL, None)
    assert "rest drop" in check_caution(BowCheck(rest_drop=False), CLEAN)
    assert "cam timing" in check_caution(BowCheck(rest_drop=True), CLEAN)
    assert "powder on the shelf" in check_caution(ALL_WELL, ContactCheck(True, True, True, False))
    assert "powder on the shelf" in check_caution(ALL_WELL, ContactCheck(True, True, True, None))
