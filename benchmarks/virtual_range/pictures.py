"""The pictures of the proof: how far both players got in the same worlds, and what it cost."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from benchmarks.virtual_range.playing import ADVISER, HAND
from benchmarks.virtual_range.tables import TELLING, of_kinds, scores_of

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = ["draw"]

Record = dict[str, Any]
_COLOURS = {HAND: "#b5651d", ADVISER: "#1f5f8b"}


def draw(records: Sequence[Record], folder: Path) -> list[tuple[str, str]]:
    """Write the pictures into ``folder``; their file names and what they show."""
    from matplotlib.figure import Figure

    telling = of_kinds(records, *TELLING)
    if not telling:
        return []
    folder.mkdir(parents=True, exist_ok=True)
    figure = Figure(figsize=(4.6, 7.6), layout="constrained")  # legible at a phone's width
    above, below = figure.subplots(2, 1)
    _gaps(above, telling)
    _arrows(below, telling)
    figure.savefig(folder / "range-gap-and-arrows.png", dpi=120, metadata={"Software": None})
    return [
        (
            "range-gap-and-arrows.png",
            "above: share of worlds that end within a gap; below: arrows shot by each player in the same world",
        )
    ]


def _gaps(axes: Axes, records: Sequence[Record]) -> None:
    for player in (HAND, ADVISER):
        for key, style in (("gap", "-"), ("spine_gap", "--")):
            values = np.sort([s[key] for s in scores_of(records, player)])
            label = f"{player}, {'as it stands' if key == 'gap' else 'rest at its start'}"
            share = np.arange(1, len(values) + 1) / len(values)
            axes.step(values, share, style, where="post", color=_COLOURS[player], label=label)
    axes.axvline(1.0, color="0.7", lw=1)
    axes.set(xlim=(0, 6), ylim=(0, 1), xlabel="true gap left at 20 yd [in]", ylabel="share of worlds")
    axes.legend(frameon=False, fontsize=8)


def _arrows(axes: Axes, records: Sequence[Record]) -> None:
    hand = [s["arrows"] for s in scores_of(records, HAND)]
    ours = [s["arrows"] for s in scores_of(records, ADVISER)]
    most = max([*hand, *ours, 1])
    axes.plot([0, most], [0, most], color="0.7", lw=1)
    axes.plot(hand, ours, "o", ms=4, alpha=0.5, color=_COLOURS[ADVISER])
    axes.set(xlabel="arrows, hand rule", ylabel="arrows, adviser")
