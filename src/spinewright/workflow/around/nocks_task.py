"""Reads the nock series of a set shaft by shaft and says how far each nock is turned, with labels to print."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

from spinewright.errors import InputError, Place
from spinewright.logbook import BenchState
from spinewright.units import Hand, Kind, parse_offset, show
from spinewright.workflow.around import papers
from spinewright.workflow.around.account import Account, Cell, Plot, Series, Table
from spinewright.workflow.around.answers import Answers, Row
from spinewright.workflow.around.numbered import numbers_in
from spinewright.workflow.showing import Voice

if TYPE_CHECKING:
    from spinewright.evidence import NockReading
    from spinewright.evidence.orienting import Shot, Standing

__all__ = ["account"]

_MOST_PLOTS = 4
_LEAVE = "leave it"
_STEP = 20  # degrees between the marks of the paper ring (common practice for one step of a nock)
_WHERE = "write for example 'right 0.4 in and high 0.1 in'"


def account(state: BenchState, answers: Answers, _progress: Callable[[float], None]) -> Account:
    """Each shaft's verdict and turn. Raises InputError for readings or numbers that cannot be read."""
    from spinewright.evidence.orienting import Aim, orient

    voice = Voice(state.scope.hand, state.scope.system)
    wanted, aim = numbers_in(answers.text("set"), "set"), Aim(answers.choice("to"))
    shots, kept_out = _logged(state)
    shots |= _typed(answers, voice.hand)
    out = {**{n: "set aside" for n in state.history.set_aside}, **{n: "broken" for n in state.broken_shafts}}
    shots = {number: shot for number, shot in shots.items() if number not in out}
    if not shots:
        return _nothing(answers.task.title, kept_out, _cautions(state, voice))
    found = orient([shots[n] for n in sorted(shots)], aim, [_noise(state, shots[n]) for n in sorted(shots)])
    others = {n: out.get(n, "no series") for n in sorted({*wanted, *out}) if n not in shots}
    return Account(
        "nocks",
        answers.task.title,
        _answer(found, voice),
        (*kept_out, *_sentences(found, voice, others)),
        (_turns(found, others, voice), _parts(found, voice)),
        tuple(_plot(one, voice) for one in found if one.fit.noise is not None)[:_MOST_PLOTS],
        _cautions(state, voice),
        _RESTS,
        (_paper(state, found, others, voice),),
    )


_ALWAYS = (
    "Bare shafts carry field points only, at a backstop that forgives a wide miss; stay within the range's rules.",
    "Flex and look at a carbon shaft after every hard or sideways hit, and see that each nock is whole and seated.",
    "A nock turned on a fletched arrow turns its vanes to the rest and cables: powder them again before shooting on.",
)
_RESTS = (
    "To each series a steady part is fitted, one that turns once and one that turns twice, both ways at once; their "
    "doubt comes from how the shots stray about the fit.",
    "As many shafts are looked at, so many chances there are to be fooled: a shaft is named only where chance over "
    "the whole set would do it less than once in twenty times.",
    "That a part which turns twice is a stiff side, and that a stiffer shaft tears its tail further right for a "
    "right-handed archer, left for a left-handed one, are rules of the trade; a bent nock or a rest fault can fake "
    "it. A spine tester shows it without shooting.",
    "Turns count from where each nock stands now, by what was logged since its series, of the whole set and of one "
    "nock alone; a typed series is taken as shot with the nock where it stands.",
)


def _cautions(state: BenchState, voice: Voice) -> tuple[str, ...]:
    """Limits that are broken before what is always to be minded."""
    from spinewright.equipment import LimitState, safety_limits

    limits = safety_limits(state.now, bare=True)
    return (*(one.sentence(voice.system) for one in limits if one.state is LimitState.BROKEN), *_ALWAYS)


def _nothing(title: str, kept_out: Sequence[str], cautions: tuple[str, ...]) -> Account:
    answer = (
        "There is no nock series to read yet: shoot one bare shaft through paper in 20 degree steps, a whole turn, "
        "and log it or put it in a table."
    )
    return Account("nocks", title, answer, tuple(kept_out), cautions=cautions, rests_on=_RESTS)


def _logged(state: BenchState) -> tuple[dict[int, Shot], list[str]]:
    """The last logged series of each shaft that still says something, and why others do not."""
    from spinewright.evidence import NockSeries
    from spinewright.evidence.orienting import Shot

    shots: dict[int, Shot] = {}
    older, stale = set(), set()
    now = state.now
    alone: dict[int, float] = {}
    for k, seen in enumerate(state.history.seen[state.cleared :], state.cleared):
        series = seen.what
        if not isinstance(series, NockSeries) or series.set_aside:
            continue
        build = seen.setup.build
        if (build.shaft, build.carbon_length) != (now.build.shaft, now.build.carbon_length):
            stale.add(series.shaft)
            continue
        if series.shaft in shots:
            older.add(series.shaft)
        alone[series.shaft] = sum(one.angle for one in state.turned_alone if one.shaft == series.shaft and one.seen > k)
        shots[series.shaft] = Shot(series, now.nock_angle - seen.setup.nock_angle + alone[series.shaft])
    said = []
    if older:
        said.append(f"Of shaft {_listed(older)} only the last series is read.")
    if stale - set(shots):
        said.append(
            f"The series of shaft {_listed(stale - set(shots))} was shot before the shafts were cut or replaced: the "
            "nock was out since, so it is not read."
        )
    voice = Voice(state.scope.hand, state.scope.system)
    turned = [f"of shaft {n} {_turn(alone[n], voice)}" for n in sorted(alone) if _turn(alone[n], voice) != _LEAVE]
    if turned:
        said.append(f"Nocks turned alone since their series are counted in: {', '.join(turned)}.")
    return shots, said


def _typed(answers: Answers, hand: Hand) -> dict[int, Shot]:
    """The series of the answered table by shaft."""
    from spinewright.evidence import NockSeries
    from spinewright.evidence.orienting import Shot

    way = hand.sideways_sign * (1.0 if answers.choice("turning") == "clockwise" else -1.0)
    readings: dict[int, list[NockReading]] = {}
    for row in answers.table("readings", ("shaft", "angle", "where")):
        number, angle = row.number("shaft"), row.quantity("angle", Kind.ANGLE)
        if number is None or not number.is_integer() or number < 1:
            raise InputError("a shaft has no whole number", "number the shafts 1, 2, 3", row.place("shaft"))
        if angle is None:
            raise InputError("a nock angle is missing", "write for example 20 deg", row.place("angle"))
        readings.setdefault(int(number), []).append(_reading(row, angle * way, hand))
    paper, bare = answers.choice("through") == "paper", answers.choice("arrows") == "bare"
    try:
        return {
            number: Shot(NockSeries(number, bare, answers.quantity("distance"), paper, tuple(shot)))
            for number, shot in readings.items()
        }
    except InputError as error:
        raise InputError(error.what, error.right, Place(field="readings")) from None


def _reading(row: Row, angle: float, hand: Hand) -> NockReading:
    from spinewright.evidence import NockReading

    try:
        y, z = parse_offset(row.text("where"), hand)
    except InputError as error:
        raise InputError(error.what, _WHERE, row.place("where")) from None
    try:
        return NockReading(angle, y, z)
    except InputError as error:
        column = "angle" if error.place.field == "angle" else "where"
        raise InputError(error.what, error.right, row.place(column)) from None


def _noise(state: BenchState, shot: Shot) -> float | None:
    """One-axis sd [m] of one hole by the archer's usual scatter; paper has its own."""
    if shot.series.paper:
        return None
    from spinewright.belief import BARE_SPREAD

    return state.archer.scatter * shot.series.distance * (BARE_SPREAD if shot.series.bare else 1.0)


def _listed(numbers: set[int]) -> str:
    return ", ".join(str(n) for n in sorted(numbers))


def _turn(angle: float | None, voice: Voice) -> str:
    """'clockwise 40°' as seen from behind the nock; a turn that rounds to nothing is none."""
    if angle is None:
        return _LEAVE
    size = show(abs(angle), Kind.ANGLE, voice.system, digits=0)
    if round(math.degrees(abs(angle))) == 0:
        return _LEAVE
    way = "clockwise" if angle * voice.hand.sideways_sign > 0 else "counterclockwise"
    return "half round" if round(math.degrees(abs(angle))) == 180 else f"{way} {size}"


def _length(value: float, voice: Voice, doubt: float | None = None) -> str:
    return show(value, Kind.LENGTH, voice.system, doubt=doubt, digits=2 if voice.system.value == "inch" else 1)


def _answer(found: Sequence[Standing], voice: Voice) -> str:
    from spinewright.evidence.orienting import Verdict

    turned = [one for one in found if one.turn is not None and _turn(one.turn, voice) != _LEAVE]
    sided = [one for one in found if one.verdict is Verdict.STIFF_SIDE]
    if len(found) == 1:
        one = found[0]
        if one.fit.noise is None:
            return f"Shaft {one.shaft}: {one.fit.why_not}"
        if one in turned:
            return f"Turn the nock of shaft {one.shaft} {_turn(one.turn, voice)}, as seen from behind: {one.verdict}."
        return f"Leave the nock of shaft {one.shaft} where it is: {one.verdict}."
    many = f"{len(turned)} of {len(found)} nocks are to be turned"
    if not turned:
        many = f"Leave the nocks of all {len(found)} shafts where they are"
    return f"{many}; {len(sided)} of {len(found)} shafts show a stiff side beyond chance."


def _sentences(found: Sequence[Standing], voice: Voice, others: dict[int, str]) -> list[str]:
    from spinewright.evidence.orienting import Verdict

    said = []
    for one in found:
        if one.fit.noise is None and len(found) > 1:
            said.append(f"Shaft {one.shaft}: {one.fit.why_not}")
        elif one.verdict is Verdict.BENT:
            said.append(
                f"Shaft {one.shaft}: {one.fit.sentence} Roll it and try another nock before you turn it to hide that."
            )
        if one.turn is not None and one.other is not None:
            said.append(f"Shaft {one.shaft}: {_turn(one.other, voice)} is a second choice, nearly as good.")
    if any(one.turn is None and one.verdict not in (Verdict.NOTHING, Verdict.UNKNOWN) for one in found):
        said.append(
            "Where something turns but no turn is named, no angle is sure enough for what you asked: shoot it again."
        )
    if any(why == "no series" for why in others.values()):
        said.append(
            "A shaft without a series is left as it is: its neighbours say nothing about where its stiff side lies."
        )
    if any(one.turn is not None for one in found):
        said.append(
            "Turn, then draw one line across nock and shaft, so that a nock put in later goes where this one was. Log "
            "each turn with the number of its shaft, and shoot one shot to see that the tail did as foretold."
        )
    return said


def _turns(found: Sequence[Standing], others: dict[int, str], voice: Voice) -> Table:
    rows: list[tuple[Cell, ...]] = []
    for one in found:
        doubt = "" if one.turn_doubt is None else f"± {math.degrees(one.turn_doubt):.0f} deg"
        size = "" if one.size is None else _length(one.size, voice)
        rows.append((str(one.shaft), str(one.verdict), _turn(one.turn, voice), doubt, size, _gain(one, voice)))
    rows += [(str(number), why, _LEAVE, "", "", "") for number, why in others.items()]
    note = (
        "Turns as seen from behind the nock. The doubt holds in two cases of three; what is left is tail or miss at "
        "that angle, and shorter by how much against now, in four cases of five within the brackets."
    )
    columns = ("shaft", "what its series shows", "turn the nock", "doubt", "left there", "shorter by")
    return Table("How far to turn each nock", columns, tuple(sorted(rows, key=lambda row: int(str(row[0])))), note)


def _gain(one: Standing, voice: Voice) -> Cell:
    if one.gain is None:
        return ""
    return voice.interval(*one.gain, Kind.LENGTH)


def _parts(found: Sequence[Standing], voice: Voice) -> Table:
    rows: list[tuple[Cell, ...]] = []
    for one in found:
        if one.once is None or one.twice is None or one.p_any is None:
            rows.append((str(one.shaft), "", "", "", "", str(len(one.shot.series.readings))))
            continue
        chance = "under 0.1 %" if one.p_any < 0.001 else f"{100 * one.p_any:.1f} %"
        once, twice = (_length(part.size, voice, part.doubt) for part in (one.once, one.twice))
        shots = str(len(one.shot.series.readings))
        rows.append((str(one.shaft), once, twice, chance, _stiff_side(one, voice), shots))
    note = (
        "How far tail or hole swings either way at the widest; what stands after ± holds in two cases of three. "
        "Scatter alone makes such parts too, so the chance decides: how often a set without any stiff or bent shaft "
        "shows as much. The stiff side stands upright with the nock turned so from where it is now, or so and half "
        "round."
    )
    columns = ("shaft", "turns once", "turns twice", "by chance alone", "stiff side upright", "shots")
    return Table("What turns with the nock", columns, tuple(rows), note)


def _stiff_side(one: Standing, voice: Voice) -> str:
    """The turn from now that puts the stiff side upright, the shorter of its two ways, with its doubt."""
    from spinewright.evidence.orienting import Verdict

    upright, doubt = one.fit.stiff_vertical, one.fit.stiff_vertical_doubt
    if one.verdict is not Verdict.STIFF_SIDE or upright is None or doubt is None:
        return "none shown"
    angle = math.remainder(upright - one.shot.since, math.pi)
    turn = _turn(angle, voice)
    return f"{'as it is' if turn == _LEAVE else turn} ± {max(1, round(math.degrees(doubt)))} deg"


def _plot(one: Standing, voice: Voice) -> Plot:
    from spinewright.evidence.orienting import predicted

    unit, size = ("in", 0.0254) if voice.system.value == "inch" else ("mm", 0.001)
    way = voice.hand.sideways_sign
    ours = [(math.degrees(r.angle * way) % 360, r.y * way / size) for r in one.shot.series.readings]
    grid = list(range(0, 361, 5))
    middle, sd = predicted(one.fit, [math.radians(g) * way for g in grid])
    y, spread = middle[:, 0] * way / size, 1.2816 * sd / size
    low, high, line = (tuple(float(v) for v in values) for values in (y - spread, y + spread, y))
    seen = sorted(ours)
    what = "tail" if one.shot.series.paper else "hole"
    return Plot(
        f"Shaft {one.shaft}: {what} against nock angle",
        "nock turned clockwise since the series began (°)",
        f"{what} to the left, right below 0 ({unit})",
        (
            Series("fitted, 80 %", tuple(float(g) for g in grid), line, low, high),
            Series("shot", tuple(a for a, _ in seen), tuple(v for _, v in seen), line=False),
        ),
        f"Sideways {what} of shaft {one.shaft} over the nock's angle with the fitted curve: {one.verdict}.",
    )


def _paper(state: BenchState, found: Sequence[Standing], others: dict[int, str], voice: Voice) -> papers.Paper:
    around = math.pi * state.now.build.shaft.outer_diameter * 1000
    marks = [(around * a / 360, f"{a}" if a % 60 == 0 else "", a % 60 == 0) for a in range(0, 360, _STEP)]
    texts = {one.shaft: f"Shaft {one.shaft}: {_turn(one.turn, voice)}" for one in found}
    texts |= {number: f"Shaft {number}: leave it ({why})" for number, why in others.items()}
    return papers.Paper(
        "nocks",
        "Nocks of the set",
        (
            papers.words("Turns as seen from behind the nock. One line across nock and shaft before, another after."),
            papers.checkline(),
            papers.heading("Labels"),
            papers.labels([texts[n] for n in sorted(texts)]),
            papers.heading("Ring for the shaft"),
            papers.words(
                f"Cut it out and wrap it round the shaft in front of the nock: {around:.1f} mm once round, a mark "
                f"every {_STEP} degrees. If its ends do not meet, measure the shaft's diameter again."
            ),
            papers.strip(marks, around, title=""),
        ),
    )
