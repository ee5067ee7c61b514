"""The build sheet as text: settings, figures with their doubts, the ledger, how to put it all back."""

from __future__ import annotations

from typing import TYPE_CHECKING

from spinewright.cli.printing import columns, heading, listing, rows, sentences

if TYPE_CHECKING:
    from spinewright.evidence.checks import CheckState
    from spinewright.workflow import Sheet

__all__ = ["sheet_lines"]


def sheet_lines(result: Sheet) -> list[str]:
    """The lines to print."""
    from spinewright.evidence import bow_check_state, contact_check_state

    state = result.state
    checks = [
        ("bow check", _check(bow_check_state(state.history.bow_check), "wrong")),
        ("contact check", _check(contact_check_state(state.history.contact_check), "touched")),
    ]
    own = [f"{one.about}: {one.says} (looked up {one.dated.isoformat()})" for one in state.limits]
    lines = [
        *heading("Take care", listing(result.cautions)),
        *heading("Arrow and bow as they are", rows(result.settings)),
        *heading("Figures", _figures(result)),
        *heading("Limits", listing(result.limits)),
        *heading("Checks", rows(checks)),
        *heading("Changes so far", listing(result.ledger)),
        *heading("Back to the recorded start", listing(result.put_back)),
        *heading("Your own groups, before and after", sentences(result.proof)),
        *heading("Limits you looked up yourself", listing(own)),
        *heading("What this session cannot tell", listing(state.notices)),
    ]
    return lines[1:]


def _figures(result: Sheet) -> list[str]:
    """The arrow's figures side by side, then the bow's."""
    bare = {figure.name: figure.text for figure in result.figures if figure.of == "bare"}
    arrow = [(one.label, one.text, bare[one.name]) for one in result.figures if one.of == "fletched"]
    bow = [(one.label, one.text) for one in result.figures if one.of == "bow"]
    return [*columns(("", "fletched", "bare"), arrow), *rows(bow)]


def _check(state: CheckState, bad: str) -> str:
    if state.passed:
        return "everything in order"
    parts = []
    if state.wrong:
        parts.append(f"{bad}: {', '.join(state.wrong)}")
    if state.missing:
        parts.append(f"not looked at: {', '.join(state.missing)}")
    return "; ".join(parts)
