"""Evidence turned into rows with values and noise: what the belief conditions on."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from spinewright.belief.physics import Output, What
from spinewright.belief.response import GAP_DISTANCE, Theta, misled
from spinewright.equipment import HeadKind, Setup
from spinewright.evidence import Impact, NockSeries, Seen, SpeedShot, Tear, Visit, noise
from spinewright.units import INCH

__all__ = [
    "BARE_SPREAD",
    "FURTHER_SD",
    "MOST_SHAFTS",
    "VISIT_SD",
    "Centres",
    "Noise",
    "Scatter",
    "ShaftKey",
    "Sighting",
    "by_chance",
    "noise_variance",
    "scatter_of",
    "shaft_places",
    "shaft_rows",
    "sightings_of",
]

FloatArray = NDArray[np.float64]
ShaftKey = tuple[int, bool]  # number, bare

#: Bare shafts scatter more than fletched ones in the same hands (from memory).
BARE_SPREAD = 1.3
#: What differs from one walk to the target to the next beyond the arrows' own scatter, one sd at 20 yd (from memory);
#: what a plucked shot that nobody called and a misread hole add is in it (docs/decisions/0004).
VISIT_SD = 0.2 * INCH
#: What a gap seen from further away than 20 yd is off by beside that, for every further 20 yd, one sd (from memory: how
#: fast a bare shaft's error grows hangs on its drag and on how it turns, which bows and shafts of one kind differ in).
FURTHER_SD = 0.8 * INCH
#: How far each lean can be from the truth beside what all are, one sd, where the target turns every shaft or it is
#: written the wrong way round (from memory).
MISLED_SD = float(np.deg2rad(1.0))
#: So many shafts, bare and fletched, are told apart at most: more than anyone shoots a tune with.
MOST_SHAFTS = 30
#: What the archer's own release adds to one tear, and what all tears of a sheet share (from memory).
ARCHER_TEAR_SD = 0.2 * INCH
TEAR_COMMON_SD = 0.1 * INCH


@dataclass(frozen=True, slots=True)
class Noise:
    """Variance of a sighting: fixed + archer * scatter^2 + misled + shafts * (shaft sd)^2.

    ``misled`` counts only if leans tell nothing here; ``shafts`` is what shafts without an offset of their own add.
    """

    fixed: float
    archer: float = 0.0
    misled: float = 0.0
    shafts: float = 0.0


@dataclass(frozen=True, slots=True)
class Centres:
    """The centres of a walk (y, z) [m], how many fletched arrows, how often the sight had been moved before, and how
    much of each shaft's own offset at 20 yd is in either centre."""

    bare: tuple[float, float]
    fletched: tuple[float, float]
    fletched_shots: int
    sight: int
    bare_shares: tuple[tuple[ShaftKey, float], ...]
    fletched_shares: tuple[tuple[ShaftKey, float], ...]


@dataclass(frozen=True, slots=True)
class Sighting:
    """One thing seen: what, value (y, z), noise of each plane, nock angle where it was not the setup's.

    ``sideways_only``: there is no second plane (a speed), or nobody looked at the height; its value then says nothing.
    ``shafts``: how much of each shaft's own offset at 20 yd is in it, by number and kind: the same shafts come back at
    every walk, so what sets them apart does not average out.
    ``centres`` of a walk. ``run`` names the walks whose fletched arrows are taken together (:mod:`aiming`), '' = alone;
    then ``aim`` [m] is how much of what they do not know of where those go, one sd of either axis, is in the value.
    """

    output: Output
    value: tuple[float, float]
    noise: Noise
    angle: float | None
    events: tuple[str, ...]
    sideways_only: bool = False
    shafts: tuple[tuple[ShaftKey, float], ...] = ()
    centres: Centres | None = None
    run: str = ""
    aim: float = 0.0


@dataclass(frozen=True, slots=True)
class Scatter:
    """Within-group sums of squares for the archer's scatter: ``squares`` [m2] over ``freedom``, at ``distance`` [m]."""

    squares: float
    freedom: int
    distance: float
    bare: bool


def sightings_of(seen: Sequence[Seen], setups: Sequence[Setup]) -> list[Sighting]:
    """Everything seen, as sightings in order; walks that lack bare or fletched shafts are joined to their fellows."""
    where = {id(setup): i for i, setup in reversed(list(enumerate(setups)))}
    index = [where.get(id(s.setup), _index(setups, s.setup)) for s in seen]
    found: list[Sighting] = []
    for visit, setup, events in _walks(seen, index):
        found += _of_visit(visit, setup, events)
    tears: dict[tuple[int, bool, float], list[tuple[Tear, str]]] = {}
    speeds: dict[tuple[int, bool], list[tuple[SpeedShot, str]]] = {}
    for item, setup in zip(seen, index, strict=True):
        if isinstance(item.what, Tear) and item.what.counts:
            tears.setdefault((setup, item.what.bare, item.what.distance), []).append((item.what, item.event))
        elif isinstance(item.what, NockSeries):
            found += _of_series(item.what, setup, item.setup.nock_angle + item.what.turned, item.event)
        elif isinstance(item.what, SpeedShot):
            speeds.setdefault((setup, item.what.bare), []).append((item.what, item.event))
    for (setup, bare), shots in speeds.items():
        found.append(_of_speeds([s for s, _ in shots], setup, bare, tuple(e for _, e in shots)))
    for (setup, bare, distance), group in tears.items():
        found.append(_of_tears([t for t, _ in group], setup, bare, distance, tuple(e for _, e in group)))
    order = {item.event: i for i, item in enumerate(seen)}
    return sorted(found, key=lambda s: order[s.events[-1]])


def _index(setups: Sequence[Setup], setup: Setup) -> int:
    return next(i for i, other in enumerate(setups) if other == setup)


def usable(impacts: Sequence[Impact], *, bare: bool) -> list[Impact]:
    """The impacts that count for a centre: of that kind, not called bad nor set aside, with a field point."""
    return [i for i in impacts if i.bare is bare and i.counts and i.head is HeadKind.FIELD]


def _walks(seen: Sequence[Seen], index: Sequence[int]) -> list[tuple[Visit, int, tuple[str, ...]]]:
    """Visits with both kinds as they are; the lone-kind ones of one setup and distance joined into one.

    A moved sight moves all holes, so walks before and after it are not joined.
    """
    whole: list[tuple[Visit, int, tuple[str, ...]]] = []
    lone: dict[tuple[int, float, int], tuple[Visit, tuple[str, ...]]] = {}
    for item, setup in zip(seen, index, strict=True):
        visit = item.what
        if not isinstance(visit, Visit):
            continue
        if usable(visit.impacts, bare=True) and usable(visit.impacts, bare=False):
            whole.append((visit, setup, (item.event,)))
            continue
        key = (setup, visit.distance, visit.sight)
        if key in lone:
            before, events = lone[key]
            visit = replace(visit, impacts=before.impacts + visit.impacts, purpose="")
            lone[key] = (visit, (*events, item.event))
        else:
            lone[key] = (visit, (item.event,))
    whole += [(visit, setup, events) for (setup, *_), (visit, events) in lone.items()]
    return whole


def _of_visit(visit: Visit, setup: int, events: tuple[str, ...]) -> list[Sighting]:
    bare, fletched = usable(visit.impacts, bare=True), usable(visit.impacts, bare=False)
    found = []
    if bare and fletched:
        distance = visit.distance
        each = 1 / len(bare) + 1 / len(fletched)
        far = distance / GAP_DISTANCE
        centres = Centres(
            _centre(bare),
            _centre(fletched),
            len(fletched),
            visit.sight,
            tuple(_shares(bare, far)),
            tuple(_shares(fletched, far)),
        )
        found.append(
            Sighting(
                Output(setup, What.GAP, distance),
                (centres.bare[0] - centres.fletched[0], centres.bare[1] - centres.fletched[1]),
                Noise(
                    fixed=noise.HOLE.sd**2 * each + (VISIT_SD * far) ** 2 + (FURTHER_SD * max(far - 1.0, 0.0)) ** 2,
                    archer=distance**2 * (BARE_SPREAD**2 / len(bare) + 1 / len(fletched)),
                ),
                None,
                events,
                shafts=(*centres.bare_shares, *((key, -share) for key, share in centres.fletched_shares)),
                centres=centres,
            )
        )
    return found + _of_leans(visit, bare, setup, events)


def _shares(impacts: Sequence[Impact], factor: float) -> Iterator[tuple[ShaftKey, float]]:
    """How much of each shaft's own offset is in the centre of a group, times ``factor``."""
    for (shaft, bare), count in Counter((i.shaft, i.bare) for i in impacts).items():
        yield (shaft, bare), factor * count / len(impacts)


def _of_leans(visit: Visit, bare: Sequence[Impact], setup: int, events: tuple[str, ...]) -> list[Sighting]:
    """The lean of the bare shafts, where the target shows it; its height only when it was looked at on every one."""
    leaning = [i for i in bare if i.lean_y is not None]
    reading = noise.lean_noise(visit.target, visit.square_to_line)
    if not leaning or reading is None:
        return []
    sideways_only = any(i.lean_z is None for i in leaning)
    lean = np.mean(np.array([(i.lean_y, i.lean_z or 0.0) for i in leaning], dtype=float), axis=0)
    # The target turns all shafts of a walk alike in part, so one share of the doubt does not average out.
    fixed = reading.sd**2 / len(leaning) + (0.5 * reading.sd) ** 2
    output = Output(setup, What.LEAN, visit.distance)
    noise_ = Noise(fixed, misled=MISLED_SD**2)
    return [Sighting(output, (float(lean[0]), float(lean[1])), noise_, None, events, sideways_only)]


def _centre(impacts: Sequence[Impact]) -> tuple[float, float]:
    y, z = np.mean(np.array([(i.y, i.z) for i in impacts]), axis=0)
    return float(y), float(z)


def _of_tears(tears: Sequence[Tear], setup: int, bare: bool, distance: float, events: tuple[str, ...]) -> Sighting:
    value = np.mean(np.array([(t.tail_y, t.tail_z) for t in tears]), axis=0)
    what = What.BARE_TEAR if bare else What.FLETCHED_TEAR
    fixed = (noise.tear_noise() ** 2 + ARCHER_TEAR_SD**2) / len(tears) + TEAR_COMMON_SD**2
    return Sighting(Output(setup, what, distance), (float(value[0]), float(value[1])), Noise(fixed), None, events)


def _of_series(series: NockSeries, setup: int, stood: float, event: str) -> list[Sighting]:
    """A series through paper teaches how the tear turns with the nock; one on a target is told in ``turned_holes``.

    Its angles are counted from where the nock ``stood`` [rad] on the shaft.
    """
    if not series.paper or series.set_aside:
        return []
    what = What.BARE_TEAR if series.bare else What.FLETCHED_TEAR
    output = Output(setup, what, series.distance)
    fixed = noise.tear_noise() ** 2 + ARCHER_TEAR_SD**2
    return [Sighting(output, (r.y, r.z), Noise(fixed), stood + r.angle, (event,)) for r in series.readings]


def _of_speeds(shots: Sequence[SpeedShot], setup: int, bare: bool, events: tuple[str, ...]) -> Sighting:
    """All readings of one kind of arrow with one setup as one: what the chronograph is off by does not average out."""
    weight = np.array([1.0 / shot.doubt**2 for shot in shots])
    speed = float(weight @ np.array([shot.speed for shot in shots]) / weight.sum())
    fixed = 1.0 / float(weight.sum()) + (noise.SPEED_COMMON.sd * speed) ** 2
    output = Output(setup, What.BARE_SPEED if bare else What.FLETCHED_SPEED, CHRONOGRAPH_DISTANCE)
    return Sighting(output, (speed, 0.0), Noise(fixed), None, events, sideways_only=True)


CHRONOGRAPH_DISTANCE = 1.0  # m in front of the bow, where chronographs usually stand (common practice)


def shaft_places(sightings: Sequence[Sighting]) -> dict[ShaftKey, int]:
    """The shafts with an offset of their own, by (number, bare), in order: its sideways part has twice that place.

    Of more than ``MOST_SHAFTS`` those shot at the most walks; the others count as chance, which for a shaft that never
    came back is exactly what it is.
    """
    walks = Counter(key for s in sightings for key, _ in s.shafts)
    own = {key for key, _ in walks.most_common(MOST_SHAFTS)}
    return {key: k for k, key in enumerate(key for key in walks if key in own)}


def by_chance(sighting: Sighting, place: Mapping[ShaftKey, int]) -> float:
    """How much of the offsets of shafts that have no ``place`` is in a sighting: variance over (shaft sd)^2."""
    return sum(share**2 for key, share in sighting.shafts if key not in place)


def shaft_rows(sightings: Sequence[Sighting], place: Mapping[ShaftKey, int]) -> FloatArray:
    """(2 * sightings, shafts) how much of the own offset of each shaft with a ``place`` is in each row."""
    rows = np.zeros((2 * len(sightings), len(place)))
    for k, sighting in enumerate(sightings):
        for key, share in sighting.shafts:
            if key in place:
                rows[2 * k : 2 * k + 2, place[key]] = share
    return rows


def noise_variance(noise_: Noise, theta: FloatArray) -> FloatArray:
    """Variance (K,) of a sighting for particles theta (K, 14), the offsets of shafts that have their own left out."""
    scatter = np.exp(2 * theta[:, Theta.SCATTER])
    variance = noise_.fixed + noise_.archer * scatter + noise_.shafts * np.exp(2 * theta[:, Theta.SHAFTS])
    return np.asarray(variance + np.where(misled(theta), noise_.misled, 0.0) if noise_.misled else variance)


def scatter_of(seen: Sequence[Seen]) -> list[Scatter]:
    """Within-group sums of squares of every visit, bare and fletched apart, both planes together."""
    found = []
    for item in seen:
        if not isinstance(item.what, Visit):
            continue
        for bare in (False, True):
            impacts = usable(item.what.impacts, bare=bare)
            if len(impacts) > 1:
                points = np.array([(i.y, i.z) for i in impacts])
                squares = float(np.sum((points - points.mean(axis=0)) ** 2))
                found.append(Scatter(squares, 2 * (len(impacts) - 1), item.what.distance, bare))
    return found


def scatter_log_likelihood(groups: Sequence[Scatter], theta: FloatArray) -> FloatArray:
    """Log likelihood (K,) of the groups' spreads for particles theta, up to a constant."""
    total = np.zeros(len(theta))
    for group in groups:
        archer = np.exp(2 * theta[:, Theta.SCATTER]) * (group.distance * (BARE_SPREAD if group.bare else 1.0)) ** 2
        shafts = np.exp(2 * theta[:, Theta.SHAFTS]) * (group.distance / GAP_DISTANCE) ** 2
        variance = archer + shafts + noise.HOLE.sd**2
        total += -0.5 * group.freedom * np.log(variance) - 0.5 * group.squares / variance
    return total
