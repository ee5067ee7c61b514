"""What a person is told and asked before a cut is logged: what it leaves, what it cannot undo, who agreed to it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from spinewright.logbook import BenchState
from spinewright.units import Kind, System, parse, show
from spinewright.workflow.open_bench import state_of

__all__ = ["CutAsked", "against_safe", "cut_asked", "cut_words"]


@dataclass(frozen=True, slots=True)
class CutAsked:
    """Sentences to read before the question; ``allowed``: longer than the mark, and no limit of the arrow broken."""

    words: tuple[str, ...]
    allowed: bool


def cut_asked(path: str | Path, event: Mapping[str, object]) -> CutAsked:
    """What is said before the cut of ``event`` is logged to the file at ``path``. Raises InputError or StoreError.

    The rules are those of the task 'consent', which is asked about this very length and number of shafts.
    """
    from spinewright.workflow.around.running import run

    state = state_of(path)
    left = parse(event.get("throat_length"), Kind.LENGTH, field="throat_length")
    words, safe = cut_words(state, left, state.scope.system), state.safe_length
    if safe is None or left < safe or left >= state.now.build.throat_length:
        return CutAsked(words, allowed=False)
    consent = run(state, "consent", {"cut-to": (str(event.get("carbon_length")),), "expect": ("no",)})
    return CutAsked((*words, consent.answer), allowed=bool(consent.papers))


def against_safe(state: BenchState, left: float, system: System) -> str:
    """How ``left`` [m] from nock throat to shaft end stands against the shortest safe length, in a sentence."""
    safe = state.safe_length
    if safe is None:
        return "No shortest safe length has been marked, so no cut can be logged."
    edge = "longer" if left >= safe else "SHORTER"
    return (
        f"That is {show(abs(left - safe), Kind.LENGTH, system)} {edge} than the shortest safe length, "
        f"{show(safe, Kind.LENGTH, system)}."
    )


def cut_words(state: BenchState, left: float, system: System) -> tuple[str, ...]:
    """What a cut that leaves ``left`` [m] from nock throat to shaft end means, in sentences."""
    now, safe = state.now.build.throat_length, state.safe_length
    words = [
        "A cut cannot be undone: a shaft does not grow.",
        f"From nock throat to shaft end {show(left, Kind.LENGTH, system)} would be left of "
        f"{show(now, Kind.LENGTH, system)}.",
    ]
    words.append(against_safe(state, left, system))
    if safe is not None and left < safe:
        words.append("An arrow that short can fall off the rest behind the riser: do not cut it so, nor shoot it.")
    words.append("At the saw: dust mask and eye protection, from the nock end only, the whole set alike, ends squared.")
    return tuple(words)
