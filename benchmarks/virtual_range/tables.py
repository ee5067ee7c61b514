"""The tables of the proof: both players over every kind of world, the goals, the intervals, the ablations."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from benchmarks.virtual_range.bolts_back import short_with_bolts_back
from benchmarks.virtual_range.playing import ADVISER, HAND, ablation_name
from benchmarks.virtual_range.summing import Number, cover, mean_of, ratio_of, share_of
from benchmarks.virtual_range.without import parts_to_leave_out
from benchmarks.virtual_range.world import WorldKind

__all__ = [
    "ablation_table",
    "cover_table",
    "goal_table",
    "left_open_table",
    "of_kinds",
    "players_table",
    "reachable_words",
    "scores_of",
    "short_words",
]

Record = dict[str, Any]
Score = dict[str, Any]
TELLING = tuple(kind for kind in WorldKind if kind is not WorldKind.WIDE)
WRONG = (WorldKind.STEEP, WorldKind.GENTLE, WorldKind.NONE, WorldKind.REVERSED)


def of_kinds(records: Sequence[Record], *kinds: WorldKind) -> list[Record]:
    """The records of these kinds of world."""
    names = {kind.name for kind in kinds}
    return [r for r in records if r["kind"] in names]


def scores_of(records: Sequence[Record], player: str) -> list[Score]:
    """One player's scores, in the records' order."""
    return [r["scores"][player] for r in records if player in r["scores"]]


def _table(head: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    lines = ["| " + " | ".join(head) + " |", "|" + "---|" * len(head)]
    lines += ["| " + " | ".join(row) + " |" for row in rows]
    return "\n".join(lines)


def _flags(scores: Sequence[Score], test: Callable[[Score], bool]) -> Number:
    return share_of([test(s) for s in scores])


def _used(scores: Sequence[Score]) -> list[str]:
    """What a player used and how far it got."""
    return [
        str(len(scores)),
        mean_of([s["arrows"] for s in scores]).shown(0),
        mean_of([s["minutes"] for s in scores]).shown(0),
        mean_of([s["cuts"] for s in scores]).shown(2),
        _flags(scores, lambda s: s["gap"] < 1.0).per_cent(),
        _flags(scores, lambda s: s["gap"] < 1.5).per_cent(),
        mean_of([s["spine_gap"] for s in scores]).shown(2),
        _flags(scores, lambda s: s["too_short"]).per_cent(),
    ]


_USED = ("player", "worlds", "arrows", "minutes", "cuts", "gap < 1 in", "gap < 1.5 in", "spine gap [in]", "too short")


def _over_best(records: Sequence[Record], player: str, which: str) -> Number:
    """How much more than the best reachable in its world is left [in at 20 yd]."""
    rated = [r for r in records if player in r["scores"] and r[f"best_{which}"] is not None]
    return mean_of([r["scores"][player][which] - r[f"best_{which}"] for r in rated])


def _left(records: Sequence[Record], player: str) -> list[str]:
    """What a player used up, what the arrow does not forgive at the end, and how right the last word was."""
    scores = scores_of(records, player)
    return [
        mean_of([s["vanes"] for s in scores]).shown(1),
        mean_of([s["shafts"] for s in scores]).shown(2),
        _over_best(records, player, "heads").shown(2),
        _over_best(records, player, "mistakes").shown(2),
        share_of([s["said"] == "tuned" for s in scores if s["gap"] < 1.0]).per_cent(),
        share_of([s["gap"] < 1.5 for s in scores if s["said"] == "tuned"]).per_cent(),
        _flags(scores, lambda s: s["said"] == "archer").per_cent(),
    ]


_LEFT = (
    "player",
    "vanes",
    "shafts",
    "heads over best [in]",
    "own mistakes over best [in]",
    "under 1 in, and said 'tuned'",
    "said 'tuned', and under 1.5 in",
    "said 'this shows the archer'",
)


def players_table(records: Sequence[Record]) -> str:
    """Both players in all worlds whose archer can show the gap, then in each kind."""
    parts = []
    groups: list[tuple[str, tuple[WorldKind, ...]]] = [("All worlds whose archer can show it", TELLING)]
    groups += [(kind.value[0].upper() + kind.value[1:], (kind,)) for kind in TELLING]
    for title, kinds in groups:
        chosen = of_kinds(records, *kinds)
        if chosen:
            used = [[p, *_used(scores_of(chosen, p))] for p in (HAND, ADVISER)]
            parts.append(f"### {title}\n\n" + _table(_USED, used))
        if chosen and kinds == TELLING:
            parts.append(_table(_LEFT, [[p, *_left(chosen, p)] for p in (HAND, ADVISER)]))
    wide = of_kinds(records, WorldKind.WIDE)
    if wide:
        head = ("player", "worlds", "arrows", "said 'this shows the archer'", "blamed the arrow (cut, or other shaft)")
        blamed = [[p, *_blamed(scores_of(wide, p))] for p in (HAND, ADVISER)]
        parts.append("### Scatter too large to tell\n\n" + _table(head, blamed))
    return "\n\n".join(parts)


def _blamed(scores: Sequence[Score]) -> list[str]:
    return [
        str(len(scores)),
        mean_of([s["arrows"] for s in scores]).shown(0),
        _flags(scores, lambda s: s["said"] == "archer").per_cent(),
        _flags(scores, lambda s: s["arrow_changed"]).per_cent(),
    ]


def goal_table(records: Sequence[Record]) -> str:
    """Every goal beside what was reached; met only when the figure itself is on the right side."""
    telling, wide = of_kinds(records, *TELLING), of_kinds(records, WorldKind.WIDE)
    ours, hand = scores_of(telling, ADVISER), scores_of(telling, HAND)
    prior, wrong = scores_of(of_kinds(records, WorldKind.OPEN), ADVISER), scores_of(of_kinds(records, *WRONG), ADVISER)
    spine = ratio_of([s["spine_gap"] for s in ours], [s["spine_gap"] for s in hand])
    arrows, cuts = (ratio_of([s[k] for s in ours], [s[k] for s in hand]) for k in ("arrows", "cuts"))
    said = _flags(scores_of(wide, ADVISER), lambda s: s["said"] == "archer")
    covers = [cover(prior, 0, "covers"), cover(wrong, 0, "covers"), cover(wrong, 1, "covers")]
    within = [_flags(ours, lambda s: s["gap"] < 1.0), _flags(ours, lambda s: s["gap"] < 1.5)]
    short = _flags(ours, lambda s: s["too_short"])
    spoilt = _flags(scores_of(wide, ADVISER), lambda s: s["cuts"] > 0)
    rows = [
        _goal("shots against the hand rule", "at most 0.6", arrows.shown(), arrows.value <= 0.6),
        _goal("cuts against the hand rule", "at most 0.4", cuts.shown(), cuts.value <= 0.4),
        _goal("spine gap against the hand rule", "no more than 1", spine.shown(), spine.value <= 1.0),
        _goal("true gap under 1 in", "80 %", within[0].per_cent(), within[0].value >= 0.8),
        _goal("true gap under 1.5 in", "95 %", within[1].per_cent(), within[1].value >= 0.95),
        _goal("ended too short", "under 2 %", short.per_cent(), short.value < 0.02),
        _goal("'shows the archer' where it does", "at least 95 %", said.per_cent(), said.value >= 0.95),
        _goal("cut there", "none", spoilt.per_cent(), spoilt.value == 0.0),
        _goal(
            "cover of 80 % intervals, prior's own worlds, first visit",
            "75 to 85 %",
            covers[0].per_cent(),
            0.75 <= covers[0].value <= 0.85,
        ),
        _goal("the same, prior wrong, first visit", "at least 70 %", covers[1].per_cent(), covers[1].value >= 0.7),
        _goal(
            "the same, prior wrong, after one change", "at least 75 %", covers[2].per_cent(), covers[2].value >= 0.75
        ),
    ]
    return _table(("goal", "asked", "reached (95 % interval)", "met"), rows)


def _goal(what: str, asked: str, reached: str, met: bool) -> list[str]:
    return [what, asked, reached, "no data" if reached == "none" else ("yes" if met else "**no**")]


def reachable_words(records: Sequence[Record]) -> str:
    """How often the goals for the gap can be reached at all, within the bounds the adviser keeps."""
    asked = [r for r in of_kinds(records, *TELLING) if r["best_gap"] is not None]
    under = [share_of([r["best_gap"] < bound for r in asked]).per_cent() for bound in (1.0, 1.5)]
    done = [
        share_of([s["gap"] < bound for s in scores_of([r for r in asked if r["best_gap"] < bound], ADVISER)])
        for bound in (1.0, 1.5)
    ]
    return (
        f"One who knew everything of these worlds could bring the gap under 1 in in {under[0]} of them and under "
        f"1.5 in in {under[1]}, with rest and nock point within 1/8 in, any shaft at hand, length down to the "
        "mark and point owned (limb bolts left alone). Where that can be done the adviser did it in "
        f"{done[0].per_cent()} and {done[1].per_cent()}."
    )


def short_words(records: Sequence[Record]) -> str:
    """Of the arrows that ended too short, how many were so before or by the bolts alone; how often one was made so."""
    telling = [r for r in of_kinds(records, *TELLING) if ADVISER in r["scores"]]
    ended = [r for r in telling if r["scores"][ADVISER]["too_short"]]
    before = sum(r["hidden"]["too_weak"] < 0.0 for r in ended)
    bolts = sum(not short_with_bolts_back(r, ADVISER) for r in ended)
    long_enough = [r["scores"][ADVISER]["too_short"] for r in telling if r["hidden"]["too_weak"] >= 0.0]
    return (
        f"Of the {len(ended)} arrows that the adviser left too short, {before} {'was' if before == 1 else 'were'} so "
        "before the hunt began and read weak all the same; of arrows that began long enough it left "
        f"{share_of(long_enough).per_cent()} too short. With the limb bolts back where the hunt began, {bolts} of the "
        f"{len(ended)} would not be: turned out they weaken the bow, and they can be put back."
    )


def left_open_table(records: Sequence[Record]) -> str:
    """Where the worlds that end over an inch come from, each world under the first line that fits it."""
    over = [r for r in of_kinds(records, *TELLING) if ADVISER in r["scores"] and r["scores"][ADVISER]["gap"] >= 1.0]
    told: dict[str, list[Score]] = {name: [] for name in _LEFT_OPEN}
    for record in over:
        score = record["scores"][ADVISER]
        told[_left_open(score, record["best_gap"])].append(score)
    rows = [
        [
            name,
            str(len(scores)),
            mean_of([s["gap"] for s in scores]).shown(1) if scores else "",
            mean_of([s["steps"][-1].get("within", 0.0) for s in scores]).per_cent() if scores else "",
        ]
        for name, scores in told.items()
    ]
    return _table(("how it ended over an inch", "worlds", "true gap [in]", "said chance of under an inch"), rows)


_LEFT_OPEN = (
    "nobody could have brought it under an inch",
    "said 'tuned': the shots lay nearer than the truth",
    "said that it stays open, with rest or nock point at its limit",
    "said that it stays open: no allowed move promised its cost",
    "said that the test shows the archer, or ran out of arrows",
)
#: So near to how far rest sideways, rest and nock point in height may go [in] is at the limit.
_AT_LIMIT = {"rest_y": 0.105, "rest_z": 0.16, "nock_z": 0.16}


def _left_open(score: Score, best: float | None) -> str:
    if best is not None and best >= 1.0:
        return _LEFT_OPEN[0]
    if score["said"] == "tuned":
        return _LEFT_OPEN[1]
    if score["said"] in ("archer", "gave up"):
        return _LEFT_OPEN[4]
    setup = score["steps"][-1]["setup"]
    limited = any(abs(setup.get(place, 0.0)) >= most for place, most in _AT_LIMIT.items())
    return _LEFT_OPEN[2 if limited else 3]


def cover_table(records: Sequence[Record]) -> str:
    """Cover of the stated 80 % intervals, by kind of world and by how many changes had been checked."""
    rows = []
    for kind in TELLING:
        scores = scores_of(of_kinds(records, kind), ADVISER)
        for which, name in (("covers", "the change advised"), ("cut_covers", "half an inch off, advised or not")):
            stages = [cover(scores, stage, which).per_cent() for stage in range(3)]
            rows.append([kind.value, name, *stages])
    return _table(("worlds", "forecast of", "first visit", "after one change", "after two or more"), rows)


def ablation_table(records: Sequence[Record]) -> str:
    """The adviser whole and without each part, in the worlds that all of them played."""
    names = [ADVISER, *(ablation_name(p) for p in parts_to_leave_out())]
    common = [r for r in of_kinds(records, *TELLING) if all(n in r["scores"] for n in names)]
    if not common:
        return ""
    rows = []
    for name in (HAND, *names):
        scores = scores_of(common, name)
        held = [cover(scores, k, "covers").per_cent() for k in (0, 1)] if name != HAND else ["", ""]
        rows.append([name, *_used(scores), *held])
    return _table((*_USED, "cover, first visit", "cover, after one change"), rows)
