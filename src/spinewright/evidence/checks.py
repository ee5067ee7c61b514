"""What a bow check or contact check found, what it left out, and what a conclusion without it has to say."""

from __future__ import annotations

from dataclasses import dataclass, fields

from spinewright.evidence.values import BowCheck, ContactCheck

__all__ = ["BOW_ITEMS", "CONTACT_ITEMS", "CheckState", "bow_check_state", "check_caution", "contact_check_state"]

BOW_ITEMS = {
    "cam_timing": "cam timing",
    "cam_lean": "cam lean",
    "axle_and_brace": "axle-to-axle and brace height against the maker's figures",
    "peak_weight": "peak weight on a scale",
    "limb_bolts_equal": "limb bolts turned equally",
    "string_marks": "marks on string and cables",
    "nock_fit": "nock fit",
    "nock_height": "nock height and loop",
    "centre_shot": "centre shot",
    "rest_drop": "rest drop",
}
CONTACT_ITEMS = {
    "vanes": "powder on the vanes",
    "launcher": "powder on the launcher",
    "cables": "powder on the cables",
    "shelf": "powder on the shelf",
}


@dataclass(frozen=True, slots=True)
class CheckState:
    """Items in plain words, in the order of the check: ``in_order``, found ``wrong``, ``missing`` (not looked at)."""

    in_order: tuple[str, ...]
    wrong: tuple[str, ...]
    missing: tuple[str, ...]

    @property
    def complete(self) -> bool:
        """Whether every item was looked at."""
        return not self.missing

    @property
    def passed(self) -> bool:
        """Whether every item was looked at and found in order."""
        return self.complete and not self.wrong


def bow_check_state(check: BowCheck | None) -> CheckState:
    """The bow check sorted into in order, wrong and missing; ``None`` = no check logged, all missing."""
    return _state(check or BowCheck(), BOW_ITEMS)


def contact_check_state(check: ContactCheck | None) -> CheckState:
    """The contact check sorted the same way; 'wrong' = touched."""
    return _state(check or ContactCheck(), CONTACT_ITEMS)


def check_caution(bow: BowCheck | None, contact: ContactCheck | None) -> str:
    """What every conclusion has to say while a check is missing or has found something; empty when both passed."""
    bench, powder = bow_check_state(bow), contact_check_state(contact)
    said = []
    if bench.wrong:
        said.append(f"The bow check found wrong: {', '.join(bench.wrong)}; put that right first.")
    if powder.wrong:
        said.append(f"Contact was found: {', '.join(powder.wrong)}; contact looks like spine, so clear it first.")
    if not bench.complete:
        left = (
            "The bow check has not been made" if bow is None else f"Not checked on the bow: {', '.join(bench.missing)}"
        )
        said.append(f"{left}; until then no cut is proposed.")
    if not powder.complete:
        left = "Contact has not been checked" if contact is None else f"Not checked: {', '.join(powder.missing)}"
        said.append(f"{left}; contact looks like spine, so until then no cut is proposed.")
    return " ".join(said)


def _state(check: BowCheck | ContactCheck, items: dict[str, str]) -> CheckState:
    found = {items[f.name]: getattr(check, f.name) for f in fields(check)}
    return CheckState(
        in_order=tuple(name for name, item in found.items() if item is True),
        wrong=tuple(name for name, item in found.items() if item is False),
        missing=tuple(name for name, item in found.items() if item is None),
    )
