"""What was seen, what it most likely is, and the one next move: in words and in numbers."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, fields, replace

from spinewright.advice import Advice, Diagnosis, Explanation, MoveKind, Reading, Situation, advise, explain, ground_for
from spinewright.advice.phrases import Style
from spinewright.belief import BeliefSettings, CauseShare, Checked
from spinewright.logbook import BenchState
from spinewright.units import Kind, System, yards_beside
from spinewright.workflow.move_events import events_between
from spinewright.workflow.move_json import move_json, move_words, weighed_json
from spinewright.workflow.open_bench import Source, state_of
from spinewright.workflow.proof import proof_of
from spinewright.workflow.read_back import last_seen
from spinewright.workflow.showing import Json, Voice, headed
from spinewright.workflow.situations import situation_of

__all__ = ["NextMove", "Option", "explained", "next_move", "settings_for"]


@dataclass(frozen=True, slots=True)
class Option:
    """Another move in words and of what ``kind``: why it is refused, or '' and what it would do."""

    kind: MoveKind
    words: str
    reason: str
    expect: str


@dataclass(frozen=True, slots=True)
class NextMove:
    """Diagnosis, move and explanation for a bench.

    seen     the observation logged last, read back; '' when there is none
    proof    what the archer's own groups before and after show, in sentences; () while either is missing
    """

    state: BenchState
    situation: Situation
    advice: Advice
    explanation: Explanation
    seen: str
    proof: tuple[str, ...]
    settings: BeliefSettings

    @property
    def voice(self) -> Voice:
        """Whose left and right, and whose units."""
        return Voice(self.state.scope.hand, self.state.scope.system)

    @property
    def alternatives(self) -> tuple[Option, ...]:
        """The moves not chosen, best first; to stop is no alternative to a move that was chosen."""
        voice, now = self.voice, self.situation.now
        tuned, found = Style(voice.hand, voice.system).tuned, []
        for other in self.advice.others:
            if other.move.kind is MoveKind.STOP:
                continue
            expect = f"gap under {tuned} afterwards: {100 * other.within:.0f} in 100"
            found.append(Option(other.move.kind, move_words(other.move, now, voice), "", expect))
        return tuple(found)

    @property
    def refused(self) -> tuple[Option, ...]:
        """The moves that may not be made now, each with its reason."""
        voice, now = self.voice, self.situation.now
        return tuple(Option(r.move.kind, move_words(r.move, now, voice), r.reason, "") for r in self.advice.refused)

    @property
    def events(self) -> tuple[Json, ...]:
        """What to log once the move is done as intended, in order; () when it changes neither bow nor arrow."""
        after = self.advice.move.move.after
        return () if after is None else tuple(events_between(self.situation.now, after, self.voice))

    def to_json(self) -> Json:
        """The result by ``schema/next.json``."""
        voice, now, advice = self.voice, self.situation.now, self.advice
        body: Json = {
            "hand": str(voice.hand),
            "units": str(voice.system),
            "cautions": list(dict.fromkeys([*self.state.cautions, *self.explanation.cautions])),
            "notices": list(self.state.notices),
            "seen": self.seen,
            "explanation": _explanation(self.explanation),
            "diagnosis": _diagnosis(advice.diagnosis, voice),
            "checked": _checked(advice.diagnosis.checked, voice),
            "move": weighed_json(advice.move, now, voice),
            "reason": advice.why,
            "others": [weighed_json(other, now, voice) for other in advice.others],
            "refused": [{"move": move_json(r.move, now, voice), "reason": r.reason} for r in advice.refused],
            "too_short_budget": {"spent": advice.spent, "whole": self.situation.budget},
            "proof": list(self.proof),
            "settings": {
                "bows": self.settings.bows,
                "particles": self.settings.particles,
                "seed": self.settings.seed,
            },
        }
        return headed("next", 1, body)


def next_move(
    source: Source,
    *,
    settings: BeliefSettings | None = None,
    progress: Callable[[float], None] | None = None,
) -> NextMove:
    """The next move for a session file or a bench in memory.

    ``settings`` with fewer bows and particles is faster and rougher; the same settings and the same bench give the same
    answer. ``progress`` is called with the share done, 0 to 1. Raises InputError, and SolveError when too few plausible
    bows have an answer.
    """
    state = state_of(source)
    settings = settings or BeliefSettings()
    situation = situation_of(state)
    advice = advise(situation, ground_for(situation, settings, progress=progress))
    return NextMove(
        state=state,
        situation=situation,
        advice=advice,
        explanation=explained(advice, situation, state.scope.system),
        seen=last_seen(state),
        proof=proof_of(state),
        settings=settings,
    )


def explained(advice: Advice, situation: Situation, system: System) -> Explanation:
    """The advice in words, with metres beside the yards of the usual distance where this archer counts in metres."""
    said, found = explain(advice, situation, system), {}
    for one in fields(said):
        text = getattr(said, one.name)
        parts = tuple(yards_beside(part, system) for part in ((text,) if isinstance(text, str) else text))
        found[one.name] = parts[0] if isinstance(text, str) else parts
    return replace(said, **found)  # type: ignore[arg-type]  # each field keeps its kind


def settings_for(bows: int = 500, particles: int | None = None, seed: int = 20) -> BeliefSettings:
    """How thoroughly to think: plausible bows, draws (as many as bows unless given), and the seed that repeats it."""
    return BeliefSettings(bows=bows, particles=bows if particles is None else particles, seed=seed)


def _explanation(words: Explanation) -> Json:
    return {
        "observed": words.observed,
        "checked": words.checked,
        "diagnosis": list(words.diagnosis),
        "move": words.move,
        "why": list(words.why),
        "expect": words.expect,
        "cost": words.cost,
        "put_back": words.put_back,
        "cautions": list(words.cautions),
    }


def _diagnosis(diagnosis: Diagnosis, voice: Voice) -> Json:
    gap, (weak, weak_low, weak_high) = diagnosis.gap, diagnosis.weak_by
    scatter = diagnosis.scatter
    return {
        "reading": _reading(diagnosis.reading, voice),
        "gap": voice.forecast(gap.middle, gap.low, gap.high),
        "under_an_inch": diagnosis.within,
        "too_weak": diagnosis.weak,
        "too_long_by": voice.interval(weak, weak_low, weak_high, Kind.LENGTH),
        "causes": [_cause(share, voice) for share in diagnosis.causes],
        "scatter": voice.interval(scatter[0], scatter[1], scatter[2], Kind.LENGTH),
        "shots_needed": diagnosis.shots_needed,
        "shows_archer": diagnosis.shows_archer,
        "conflict": diagnosis.conflict,
        "unsettled": diagnosis.collapsed,
    }


def _reading(reading: Reading | None, voice: Voice) -> Json | None:
    if reading is None:
        return None
    return {
        "gap": voice.offset(reading.gap),
        "sd": voice.quantity(reading.sd, Kind.LENGTH),
        "walks": reading.walks,
        "by_chance": reading.beyond_chance,
    }


def _cause(share: CauseShare, voice: Voice) -> Json:
    return {
        "cause": str(share.cause),
        "probability": share.probability,
        "adds": voice.forecast(share.middle, share.low, share.high),
    }


def _checked(checked: Checked | None, voice: Voice) -> Json | None:
    if checked is None:
        return None
    foretold = checked.foretold
    return {
        "came_true": bool(checked.came_true),
        "at_least_as_far": checked.probability,
        "distance": voice.quantity(checked.distance, Kind.DISTANCE),
        "was": voice.offset(checked.was),
        "foretold": voice.forecast(foretold.middle, foretold.low, foretold.high),
        "seen": voice.offset(checked.seen),
        "events": list(checked.events),
    }
