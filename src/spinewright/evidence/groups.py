"""One group of holes: its centre, its scatter, its size; and picking the arrows that belong to it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from math import sqrt

import numpy as np
from numpy.typing import NDArray

from spinewright.equipment.arrow import HeadKind
from spinewright.evidence.values import Impact

__all__ = ["Group", "group", "holes", "select"]

FEW = 200  # up to here every pair is measured; beyond it only the pairs on the outline


@dataclass(frozen=True, slots=True)
class Group:
    """A group of holes; lengths in [m], left and up positive.

    count          arrows counted: all but those called bad or set aside
    called_bad     arrows called bad before looking, left out of every number here; so are those set aside
    shafts         the numbers of the shafts counted, each once, in order
    y, z           the centre from the aiming spot
    sum_yy, sum_zz, sum_yz [m2]  sums of squares and products about the centre
    spread         extreme spread: the two holes furthest apart; 0 for one hole
    mean_radius    mean distance from the centre; 0 for one hole
    """

    count: int
    called_bad: int
    shafts: tuple[int, ...]
    y: float
    z: float
    sum_yy: float
    sum_zz: float
    sum_yz: float
    spread: float
    mean_radius: float

    @property
    def degrees(self) -> int:
        """Degrees of freedom per axis, ``count - 1``."""
        return self.count - 1

    @property
    def sd_y(self) -> float | None:
        """Sideways sd [m], ``None`` for one hole."""
        return sqrt(self.sum_yy / self.degrees) if self.degrees else None

    @property
    def sd_z(self) -> float | None:
        """Sd in height [m], ``None`` for one hole."""
        return sqrt(self.sum_zz / self.degrees) if self.degrees else None

    @property
    def sd(self) -> float | None:
        """One-axis sd [m] of a round group, both axes pooled, ``None`` for one hole."""
        return sqrt((self.sum_yy + self.sum_zz) / (2 * self.degrees)) if self.degrees else None

    @property
    def cannot_show(self) -> str:
        """What so small a group cannot show, as one sentence; empty when it is large enough."""
        if self.count == 1:
            return "One shot shows where one arrow went, not where the group lies or how wide it is."
        if self.count == 2:
            return "Two shots show where the group lies only roughly, and hardly how wide it is."
        return ""


def select(impacts: Iterable[Impact], *, bare: bool, head: HeadKind = HeadKind.FIELD) -> tuple[Impact, ...]:
    """The bare or the fletched arrows with this head, those called bad or set aside included."""
    return tuple(i for i in impacts if i.bare == bare and i.head is head)


def holes(impacts: Iterable[Impact]) -> NDArray[np.float64]:
    """Holes [m] of the arrows that count, shape (n, 2): y, z."""
    places = [(i.y, i.z) for i in impacts if i.counts]
    return np.array(places, dtype=np.float64).reshape(-1, 2)


def group(impacts: Iterable[Impact]) -> Group | None:
    """The group that these arrows made; ``None`` when there is none that counts."""
    arrows = tuple(impacts)
    places = holes(arrows)
    if not len(places):
        return None
    centre = places.mean(axis=0)
    about = places - centre
    products = about.T @ about
    return Group(
        count=len(places),
        called_bad=sum(i.called_bad for i in arrows),
        shafts=tuple(sorted({i.shaft for i in arrows if i.counts})),
        y=float(centre[0]),
        z=float(centre[1]),
        sum_yy=float(products[0, 0]),
        sum_zz=float(products[1, 1]),
        sum_yz=float(products[0, 1]),
        spread=_extreme_spread(places),
        mean_radius=float(np.hypot(about[:, 0], about[:, 1]).mean()),
    )


def _extreme_spread(places: NDArray[np.float64]) -> float:
    """Largest distance [m] between two of ``places``, shape (n, 2)."""
    if len(places) < 2:
        return 0.0
    if len(places) > FEW:
        places = _outline(places)
    between = places[:, None, :] - places[None, :, :]
    return float(np.hypot(between[..., 0], between[..., 1]).max())


def _outline(places: NDArray[np.float64]) -> NDArray[np.float64]:
    """The holes on the convex outline: the two furthest apart are always among them."""
    from scipy.spatial import ConvexHull, QhullError

    try:
        outline: NDArray[np.float64] = places[ConvexHull(places).vertices]
    except QhullError:  # all on one line, which has no inside: its ends are what counts
        along = places @ np.linalg.svd(places - places.mean(axis=0), full_matrices=False)[2][0]
        outline = places[[int(along.argmin()), int(along.argmax())]]
    return outline
