"""Little time, little change: the last good settings put back, a five-minute check, and a log on paper."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from spinewright.equipment import Setup, TimeAtHand
from spinewright.errors import InputError, Place
from spinewright.logbook import BenchState, Knob, put_back
from spinewright.units import Kind, counted, show, show_distance
from spinewright.workflow.around import papers
from spinewright.workflow.around.account import Account, Table, text_of
from spinewright.workflow.around.answers import Answers
from spinewright.workflow.around.paper_log import log_command, log_sheet
from spinewright.workflow.around.papers import Paper
from spinewright.workflow.around.putting_back import back_to
from spinewright.workflow.around.recheck_readings import Judged, amount, judged_readings, shown, verdict
from spinewright.workflow.showing import Voice

__all__ = ["account"]

_NEAREST, _FURTHEST = 4.5, 92.0  # m
_MANY = 200  # arrows after which string and serving are looked at whatever they feel like (common practice)


def account(state: BenchState, answers: Answers, progress: Callable[[float], None]) -> Account:
    """What to put back, what to check with which tolerance, and what the paper log becomes."""
    voice = Voice(state.scope.hand, state.scope.system)
    target, named, steps = _back(state, answers)
    distance = _distance(state, answers)
    progress(0.1)
    judged = judged_readings(state, target, distance, answers, voice)
    progress(1.0)
    command = _command(state, answers, voice, distance)
    return Account(
        "recheck",
        answers.task.title,
        _answer(judged, steps, named, voice),
        tuple(_sentences(state, answers, judged)),
        tuple(
            [
                Table("Put back", ("step", "what"), tuple((str(k), one) for k, one in enumerate(steps, 1))),
                _checks(judged, distance, voice),
                _looked_at(),
                *([_logged(command)] if command else []),
            ]
        ),
        cautions=_cautions(state, answers),
        rests_on=_RESTS,
        papers=(
            _list(steps, judged, (named, distance, state.cautions), voice),
            log_sheet(distance, voice.system, cautions=_AT_THE_LINE),
        ),
    )


_RESTS = (
    "What a slip moves is computed on plausible bows before any shot, for the fletched arrow, with aim and sight left "
    "alone. Four times in five it lies between the two ends.",
    "Leave within: as much as moves the hit by half your own scatter, but never more than the trade leaves (common "
    "practice) and never less than a ruler or a scale shows.",
    "Which reading moves first, how heat and shots act, and the order of the checks: common practice.",
    "Where the sight stood is not kept with settings: go by your own marks, and by the ledger for its clicks.",
)
_AT_THE_LINE = ("Never a broadhead on an unfletched shaft. Bare shafts only at a backstop that forgives a wide miss.",)
_LOOK = (
    ("marks on string, cables and cams", "where they were", "a string that creeps shows here before anything else"),
    (
        "serving, loop and peep",
        "whole; the peep square",
        "a loop that slips moves the nock, a peep that turns the sight",
    ),
    ("limbs, axles, bolts and quiver", "nothing loose or split", "one split limb and the bow is not drawn"),
    ("rest", "tight; up and down freely", "a screw that backs off moves every hit"),
    ("three fletched arrows", "on their mark", "if they are, change nothing"),
)


def _back(state: BenchState, answers: Answers) -> tuple[Setup, str, list[str]]:
    """The settings to go back to, what they are called, and the steps."""
    wanted = answers.choice("back-to") or ("last good" if state.last_good is not None else "start")
    if wanted == "start":
        return state.start, "the recorded start", list(put_back(state))
    if state.last_good is None:
        raise InputError(
            "no settings are marked as good",
            "go back to 'start', or mark settings with 'spinewright log FILE good' when they shoot well",
            Place(field="back-to"),
        )
    steps = back_to(state.last_good, state)
    if any(entry.knob in (Knob.SIGHT_SIDEWAYS, Knob.SIGHT_HEIGHT) for entry in state.ledger):
        steps.append("Sight: to your own marks; where it stood is not kept with the settings.")
    return state.last_good, "the last good settings", steps


def _distance(state: BenchState, answers: Answers) -> float:
    """How far the hits matter [m]: as answered, or where the archer tests."""
    from spinewright.workflow.situations import situation_of

    said = answers.maybe("distance")
    if said is None:
        return situation_of(state).distance
    if not _NEAREST <= said <= _FURTHEST:
        raise InputError("a hit is not computed that near or that far", "say 5 to 100 yd", Place(field="distance"))
    return said


def _checks(judged: Sequence[Judged], distance: float, voice: Voice) -> Table:
    rows = [
        (
            one.reading.name,
            shown(one.reading.should, one, voice),
            amount(one.within, one, voice),
            one.moves,
            verdict(one, voice),
        )
        for one in judged
    ]
    at = show_distance(distance, voice.system)
    columns = ("reading", "should be", "leave within", "that moves the hit", "now")
    return Table("Measure, in the order in which a slip shows", columns, tuple(rows), _note(judged, at))


def _note(judged: Sequence[Judged], at: str) -> str:
    """Where the tolerances come from, and where the hit is looked at."""
    reasons: dict[str, list[str]] = {}
    for one in judged:
        reasons.setdefault(one.because, []).append(one.reading.name)
    told = "; ".join(f"{', '.join(names)}: {because}" for because, names in reasons.items())
    return f"The hit is the fletched arrow's at {at}. How far to leave it: {told}."


def _logged(command: Sequence[str]) -> Table:
    note = "All of it is one command; a line that ends with '\\' goes on in the next. Put your session file for FILE."
    return Table("The paper log as one command", ("command",), tuple((one,) for one in command), note)


def _looked_at() -> Table:
    return Table("Look, and shoot three", ("what", "should be", "why"), _LOOK)


def _answer(judged: Sequence[Judged], steps: Sequence[str], named: str, voice: Voice) -> str:
    out = [f"{one.reading.name} ({verdict(one, voice).removeprefix('out: ')})" for one in judged if one.off]
    back = (
        f"{counted(len(steps), 'step')} back to {named}"
        if steps
        else f"Nothing to put back: everything stands as at {named}"
    )
    if out:
        return f"Out of tolerance: {', '.join(out)}. Find out why before you shoot for score. {back}."
    read = [one for one in judged if one.read is not None and one.reading.should is not None]
    if read:
        names = ", ".join(one.reading.name for one in read)
        return f"What was read is in tolerance: {names}. {back}."
    return f"{back}. Then measure, look, and shoot three fletched arrows: about five minutes."


def _sentences(state: BenchState, answers: Answers, judged: Sequence[Judged]) -> list[str]:
    said = []
    if state.scope.time_at_hand is not TimeAtHand.AFTERNOON:
        said.append("Change nothing else today: what you know shoots better than what you hope.")
    if not state.rest_known:
        said.append("Where the rest stands is not known: set it by the recorded centre shot.")
    shots = answers.maybe("shots")
    if shots is not None and shots < 0:
        raise InputError(f"{int(shots)} arrows cannot have been shot", "write for example 150", Place(field="shots"))
    if shots is not None:
        said.append(
            f"{int(shots)} arrows since the last check: look at serving, loop, peep and marks now, and weigh the bow."
            if shots >= _MANY
            else f"{int(shots)} arrows since the last check: a settled string needs it about every {_MANY}; a new one "
            "sooner, for its first hundred or two."
        )
    off = {one.reading.question for one in judged if one.off}
    if "brace-height" in off or "axle-to-axle" in off:
        said.append(
            "Brace height or axle to axle out: string or cables have crept or lost a twist, so the timing has moved, "
            "too. To twist them back is press work for a qualified technician."
        )
    said.append(
        "A creeping string shows in the marks and the brace height first, then in the timing and the peak weight, and "
        "on the target last; a loose loop or rest shows on the target first."
    )
    said.append("On the page the rows of the paper log go in under 'At the line'.")
    return said


def _cautions(state: BenchState, answers: Answers) -> tuple[str, ...]:
    heat = (
        (
            "A bow that lay in the heat: let it cool, look at both limbs for lines, splits or soft places, and do not "
            "draw it if there are any. Strings creep fastest when hot, so measure everything below.",
        )
        if answers.yes("heat")
        else ()
    )
    return (*state.cautions, *heat, *_AT_THE_LINE, "The maker's limits and the range's rules stand above this list.")


def _command(state: BenchState, answers: Answers, voice: Voice, distance: float) -> list[str]:
    lines = answers.lines("arrow")
    if not lines:
        return []
    at = answers.text("distance") or show(distance, Kind.DISTANCE, voice.system)
    return log_command(lines, at, answers.choice("target"), state.scope.hand)


def _list(
    steps: Sequence[str], judged: Sequence[Judged], about: tuple[str, float, Sequence[str]], voice: Voice
) -> Paper:
    """The list for the pocket: put back, measure, look; ``about`` to what, for which distance, with which cautions."""
    named, distance, cautions = about
    at = show_distance(distance, voice.system)
    rows = [
        (
            one.reading.name,
            text_of(shown(one.reading.should, one, voice)),
            amount(one.within, one, voice),
            one.moves,
            "",
        )
        for one in judged
    ]
    put = papers.grid(("put back", "done"), [(one, "") for one in steps])
    return Paper(
        "recheck",
        "Five minutes before you shoot",
        (
            *(papers.words(one, care=True) for one in cautions),
            papers.words("The maker's limits and the range's rules stand above this list.", care=True),
            papers.heading(f"Back to {named}"),
            put if steps else papers.words("Nothing to put back."),
            papers.heading("Measure"),
            papers.grid(("reading", "should be", "leave within", f"at {at} that is", "read now"), rows),
            papers.heading("Look, and shoot three"),
            papers.grid(("what", "should be", "in order"), [(what, should, "") for what, should, _ in _LOOK]),
        ),
    )
