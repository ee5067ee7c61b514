"""The words beside the marks of a plot: each where it covers no other mark, bar or word, else left out."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from spinewright.report.style import INK, QUIET, harmless

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = ["label_marks"]

Boxes = NDArray[np.float64]  # (n, 4): left, foot, right, top [points of print]
Place = tuple[float, float]  # of a word's middle from its mark, or half its width and height [points of print]

_SIZE = 9.0
_MARK = 3.6  # half the side of a mark
_BAR = 0.8  # half the width of a bar or line
_NEIGHBOUR = 25.0  # marks this near crowd one another
_CROWD = 400  # marks, words and steps of lines, from which on no more lines are drawn into them
_AIR = 1.0  # between a word and anything else
#: How far from its mark a word stands; those further off have a fine line to it.
_GAPS = (5.0, 11.0, 18.0, 26.0)
#: To which side, the first that is free; those between them only where a fine line leads there.
_SIDES = ((1.0, 1.0), (1.0, 0.0), (1.0, -1.0), (-1.0, 1.0), (-1.0, 0.0), (-1.0, -1.0), (0.0, 1.0), (0.0, -1.0))
_BETWEEN = ((1.0, 0.5), (0.5, 1.0), (1.0, -0.5), (0.5, -1.0), (-1.0, 0.5), (-0.5, 1.0), (-1.0, -0.5), (-0.5, -1.0))


def label_marks(
    axes: Axes, marks: Sequence[tuple[float, float, str]], bars: Sequence[tuple[float, float, float]]
) -> None:
    """Write the word of each mark (x, y, word) near it; ``bars`` are (x, low, high); '' = a mark without a word.

    Everything else that is drawn there has to be there already, as the limits of the axes are taken as they are.
    """
    if not marks:
        return
    scale = 72.0 / axes.figure.dpi
    axes.autoscale_view()
    axes.apply_aspect()
    at = scale * axes.transData.transform([(x, y) for x, y, _ in marks])
    frame = scale * np.array(axes.get_window_extent().extents)
    taken = [np.hstack([at - _MARK, at + _MARK])]
    for x, low, high in bars:
        ends = scale * axes.transData.transform([(x, low), (x, high)])
        taken.append(np.array([[ends[0, 0] - _BAR, ends[0, 1], ends[0, 0] + _BAR, ends[1, 1]]]))
    crowd = (np.abs(at[:, None] - at).max(axis=2) < _NEIGHBOUR).sum(axis=1)
    for k in np.argsort(-crowd, kind="stable"):  # where there is least room first
        if marks[k][2]:
            here = np.tile(at[k], 2)
            taken.append(_word(axes, marks[k], frame - here, np.vstack(taken) - here) + here)


def _word(axes: Axes, mark: tuple[float, float, str], frame: Boxes, others: Boxes) -> Boxes:
    """Write the word of ``mark`` where it is free; what it takes. ``frame`` and ``others`` are seen from the mark."""
    note = axes.annotate(harmless(mark[2]), mark[:2], (0, 0), textcoords="offset points", zorder=5, parse_math=False)
    note.set(fontsize=_SIZE, color=INK, ha="center", va="center")
    extent = note.get_window_extent()
    half = (36.0 / axes.figure.dpi * extent.width, 36.0 / axes.figure.dpi * extent.height)
    place = next(_free(half, frame, others), None)
    if place is None:
        note.remove()
        return np.empty((0, 4))
    note.set_position(place)
    box, end = _box(*place, *half), _end(place, half)
    if max(map(abs, end)) <= _GAPS[0]:
        return box
    line = {"arrowstyle": "-", "color": QUIET, "lw": 0.6, "shrinkA": 0.5, "shrinkB": _MARK}
    axes.annotate("", mark[:2], end, textcoords="offset points", arrowprops=line)
    return np.vstack([box, _along(end)])


def _free(half: Place, frame: Boxes, others: Boxes) -> Iterator[Place]:
    """The places for a word of that half size where nothing else is, neither under it nor on the way to it."""
    for gap in _GAPS if len(others) <= _CROWD else _GAPS[:1]:
        for across, up in _SIDES if gap == _GAPS[0] else (*_SIDES, *_BETWEEN):
            place = (across * (gap + half[0]), up * (gap + half[1]))
            box = _box(*place, half[0] + _AIR, half[1] + _AIR)
            inside = (box[0, :2] > frame[:2]).all() and (box[0, 2:] < frame[2:]).all()
            if inside and not _meet(box, others) and not _meet(_along(_end(place, half)), others):
                yield place


def _along(end: Place) -> Boxes:
    """A line from the edge of the mark to ``end`` as small boxes."""
    steps = 1 + int(max(map(abs, end)) / _BAR)
    spots = np.linspace(0.0, 1.0, steps)[:, None] * np.array(end)
    spots = spots[np.abs(spots).max(axis=1) > _MARK + _BAR]
    return np.hstack([spots - _BAR / 2, spots + _BAR / 2])


def _end(place: Place, half: Place) -> Place:
    """The spot of a word that is nearest to its mark."""
    across, up = (min(max(0.0, at - by), at + by) for at, by in zip(place, half, strict=True))
    return across, up


def _box(x: float, y: float, wide: float, high: float) -> Boxes:
    return np.array([[x - wide, y - high, x + wide, y + high]])


def _meet(some: Boxes, others: Boxes) -> bool:
    one = some[:, None]
    return bool(((one[..., :2] < others[:, 2:]) & (others[:, :2] < one[..., 2:])).all(axis=2).any())
