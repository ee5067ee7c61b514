"""A campaign at a glance: one line a player and kind of world, for quick trials while something is being changed."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from statistics import fmean
from typing import Any

from benchmarks.virtual_range.tables import TELLING, of_kinds, scores_of
from benchmarks.virtual_range.world import WorldKind

__all__ = ["glance"]

Record = dict[str, Any]


def glance(records: Sequence[Record]) -> str:
    """Shares, means and how hunts ended, of every player in the records, over all telling worlds and each kind."""
    names = list(dict.fromkeys(name for r in records for name in r["scores"]))
    groups: list[tuple[str, tuple[WorldKind, ...]]] = [("all telling", TELLING)]
    groups += [(kind.name.lower(), (kind,)) for kind in WorldKind]
    lines = []
    for title, kinds in groups:
        for name in names:
            scores = scores_of(of_kinds(records, *kinds), name)
            if scores:
                lines.append(f"{title:12s} {name:12s} {_line(scores)}")
    return "\n".join(lines)


def _line(scores: Sequence[dict[str, Any]]) -> str:
    def mean(key: str) -> float:
        return fmean(float(s[key]) for s in scores)

    under = [100 * fmean(s["gap"] < most for s in scores) for most in (1.0, 1.5)]
    ends = ", ".join(f"{said} {n}" for said, n in Counter(s["said"] for s in scores).most_common())
    return (
        f"n {len(scores):3d} | gap<1 {under[0]:3.0f} % <1.5 {under[1]:3.0f} % | arrows {mean('arrows'):5.1f} "
        f"min {mean('minutes'):5.0f} cuts {mean('cuts'):4.2f} | spine gap {mean('spine_gap'):4.2f} "
        f"short {100 * mean('too_short'):3.0f} % | cover {_held(scores)} | {ends}"
    )


def _held(scores: Sequence[dict[str, Any]]) -> str:
    """Share of stated 80 % intervals that held, every plane counted: first visit / later."""
    bits: tuple[list[int], list[int]] = ([], [])
    for stage, *held in (row for s in scores for row in s["covers"]):
        bits[min(stage, 1)].extend(held)
    return "/".join(f"{100 * fmean(b):.0f}" if b else "-" for b in bits)
