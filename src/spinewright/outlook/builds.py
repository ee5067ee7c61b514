"""What one build would do for its purpose: speed, drop, drift, misses and score, on every plausible bow."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from spinewright.belief import Members
from spinewright.equipment import Face, HeadKind, Setup, expected_score, mass_model
from spinewright.flight import FlightParameters, flight_body, fly
from spinewright.outlook.differences import SetSpread, scatter_draws
from spinewright.outlook.own_mistakes import Line, miss_draws
from spinewright.outlook.runs import released
from spinewright.outlook.values import FloatArray, Range

__all__ = ["BuildDraws", "Use", "aim_scatter", "build_draws", "told_apart"]

_LEAST_AIM = 0.5  # share of the whole scatter that is the archer's aim at the least, whatever the stated mistakes add
SHOWS_SCORE = (
    0.05  # points an arrow: three in a round of sixty, which one day differs from another anyway (from memory)
)
SHOWS_MISS = 0.00635  # m, a quarter inch, as on the map: nobody sees less between two builds


@dataclass(frozen=True, slots=True)
class Use:
    """What the arrow is shot at.

    distance, further [m]  the sight is set for the first; drop is counted to the second
    wind [m/s]             crosswind the drift is stated for, above zero
    range_error [1]        one sd of a distance judged wrong, as a share; 0 where it is known
    wind_error [m/s]       one sd of a crosswind judged wrong; 0 where there is none
    face                   None = no points are counted and the rms miss is compared
    """

    distance: float
    further: float
    wind: float
    range_error: float
    wind_error: float
    face: Face | None


@dataclass(frozen=True, slots=True, eq=False)
class BuildDraws:
    """One build over N plausible bows; every array (N,).

    speed [m/s]  as it leaves
    drop  [m]    below the aim at ``further`` with the sight set for ``distance``, positive down
    drift [m]    in the stated crosswind at ``distance``
    own   [m]    rms miss from the archer's own mistakes
    apart [m]    rms distance of the set's arrows from its middle; with blades, from where field points go
    worth        mean score of one arrow [points], or rms miss of everything together [m] where no points are counted
    """

    speed: FloatArray
    drop: FloatArray
    drift: FloatArray
    own: FloatArray
    apart: FloatArray
    worth: FloatArray
    solved: NDArray[np.bool_]
    reason: str


def build_draws(
    members: Members, setup: Setup, line: Line, use: Use, aim: FloatArray | None = None, gap: FloatArray | None = None
) -> BuildDraws:
    """``setup`` on every plausible bow.

    aim (N,) [m]            one-axis scatter at the target that is the archer's alone, see :func:`aim_scatter`;
                            None = none of it
    gap (N, 2) [m at 20 yd] believed gap of each bow, which the offset of blades follows

    The stated mistakes, the set's differences and what is misjudged are taken as independent and normal.
    """
    aim = np.zeros(len(members)) if aim is None else aim
    as_built, head = released(members, setup), setup.build.head
    bladed = head.kind is not HeadKind.FIELD
    misses = miss_draws(members, setup, line, as_built=as_built)
    spread = (use.distance, SetSpread())
    scattered = scatter_draws(members, setup, spread, head=head if bladed else None, as_built=as_built, gap=gap)
    apart = scattered.apart if bladed else scattered.spread_field
    speed = np.where(as_built.solved, as_built.speed, 50.0)
    drop, drift, low, solved = _flights(members, setup, speed, use)
    solved = solved & as_built.solved & misses.solved & scattered.solved
    around = np.sqrt(aim**2 + 0.5 * (misses.combined**2 + apart**2))
    aside = np.hypot(low, drift * (use.wind_error / use.wind))
    worth = _worth(use.face, (around, aside), setup.build.shaft.outer_diameter, solved)
    reason = as_built.reason or misses.reason or scattered.reason
    return BuildDraws(speed, drop, drift, misses.combined, apart, worth, solved, reason)


def aim_scatter(scatter: FloatArray, distance: float, now: BuildDraws) -> FloatArray:
    """(N,) [m] what of the archer's one-axis ``scatter`` (N,) [rad] is not the present arrow's doing at ``distance``.

    What the present build makes of mistakes and differences is taken off in squares, down to half of the whole.
    """
    whole = scatter * distance
    rest = whole**2 - 0.5 * (now.own**2 + now.apart**2)
    return np.asarray(np.sqrt(np.maximum(rest, (_LEAST_AIM * whole) ** 2)))


def told_apart(draws: BuildDraws, best: BuildDraws, *, points: bool) -> tuple[Range, bool]:
    """How far a build is behind the ``best``, bow by bow (positive = worse), and whether the difference is to be seen.

    It is when the central 80 % lie clear of nothing and the middle is more than a day's chance.
    """
    use = draws.solved & best.solved
    behind = (best.worth - draws.worth if points else draws.worth - best.worth)[use]
    found = Range.of(behind)
    shows = SHOWS_SCORE if points else SHOWS_MISS
    return found, found.low > 0.2 * shows and found.middle > shows


def _flights(
    members: Members, setup: Setup, speed: FloatArray, use: Use
) -> tuple[FloatArray, FloatArray, FloatArray, NDArray[np.bool_]]:
    """Drop [m], drift [m], one sd of the height missed by a misjudged distance [m], and which were solved; (N,) each.

    Flown straight, as an arrow that leaves without yaw. The sight is set at ``distance`` n for an eye at the peep: with
    h the peep above the nock and z the fall below the line of departure, a shot at x is below the line of sight by
    z(x) - z(n) x/n - h (x/n - 1).
    """
    body = flight_body(setup.build, mass_model(setup.build, bare=False), bare=False)
    near, share = use.distance, use.range_error
    distances = np.array([near, use.further, near * (1.0 + share), near * (1.0 - share)])
    release = np.zeros((len(speed), 2, 4))
    calm = fly(body, speed, release, _air(members, 0.0), distances)
    blown = fly(body, speed, release, _air(members, use.wind), distances[:1])

    def below(k: int) -> FloatArray:
        times, fall = distances[k] / near, -calm.hole[:, :, 1]
        return np.asarray(fall[:, k] - fall[:, 0] * times - setup.bow.peep_above * (times - 1.0))

    drift = np.abs(blown.hole[:, 0, 0] - calm.hole[:, 0, 0])
    return below(1), drift, 0.5 * np.abs(below(2) - below(3)), calm.solved & blown.solved


def _air(members: Members, wind: float) -> FlightParameters:
    return replace(members.flight, wind_y=np.full(len(members), wind))


_KNOTS, _WEIGHTS = np.polynomial.hermite_e.hermegauss(5)  # a normal's own quadrature; to 1e-3 of a point against 31


def _worth(
    face: Face | None, scatter: tuple[FloatArray, FloatArray], diameter: float, solved: NDArray[np.bool_]
) -> FloatArray:
    """(N,) mean score of one arrow, or rms miss [m]; ``scatter`` is circular one-axis sd and one along one axis only.

    A normal along one axis beside a circular one is a circular group whose middle lies that far off: five places of it.
    """
    circular, aside = scatter
    if face is None:
        return np.asarray(np.sqrt(2.0 * circular**2 + aside**2))
    weights = _WEIGHTS / _WEIGHTS.sum()
    found = np.zeros(len(circular))
    for k in np.flatnonzero(solved):
        found[k] = sum(
            weight * expected_score(face, float(circular[k]), (float(aside[k] * knot), 0.0), shaft_diameter=diameter)
            for knot, weight in zip(_KNOTS, weights, strict=True)
        )
    return found
