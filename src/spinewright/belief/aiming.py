"""Where the fletched arrows go: walks with one sight setting tell it together.

The fletched centre of a walk is S + f + e: where the sight puts the arrows with the present setup, by how much the
setup of the walk differs in that (computed, and far surer than how the gap answers), and what a walk is off by. So
fletched arrows of earlier walks help to say where bare ones stand apart from them, and few are enough later on. Given
S the walks know nothing more of each other, so each keeps a row of its own and S is one more unknown of each plane:

    bare centre - [w (S + f) + (1 - w) fletched centre] = gap + noise,   w = v / (v + var e)

with v the variance of the walk's own fletched centre. The belief's particles know the scatter better than ``w`` does;
a poor w costs a little of what is there to gain and makes nothing wrong.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from math import hypot, sqrt

import numpy as np
from numpy.typing import NDArray

from spinewright.belief.design import Kernel, widened
from spinewright.belief.evidence_rows import BARE_SPREAD, Centres, Scatter, ShaftKey, Sighting
from spinewright.belief.physics import Output, Strokes, fletched_holes
from spinewright.belief.prior import Members
from spinewright.belief.response import GAP_DISTANCE
from spinewright.belief.turned_holes import SIGHT_SD
from spinewright.equipment import Archer, Setup
from spinewright.evidence import noise
from spinewright.units import INCH

__all__ = ["WALK_SD", "Aim", "aimed_kernel", "likely_scatter", "taken_together"]

FloatArray = NDArray[np.float64]

#: What a walk's fletched arrows are off by beside their scatter, one sd at 20 yd (from memory: anchor and stance).
WALK_SD = 0.2 * INCH
#: How far a computed shift of the fletched hit may be out, one sd: a share of it, and what any change of arrow or bow
#: may add at 20 yd (from memory; two strokes and flights written apart from each other differ by 5 to 20 %).
SHIFT_SHARE, BUILT_SD = 0.15, 0.15 * INCH
#: Fletched arrows so far from where they should be [chi-square of two] were shot with a sight that had been moved, or
#: a bow that had been worked on, whether it was written down or not: one time in a thousand by chance.
_ELSEWHERE = 13.8
#: Shots that what the archer is known for counts as, when the scatter is guessed.
_KNOWN_FOR = 6


@dataclass(frozen=True, slots=True)
class Aim:
    """Where the present setup's fletched arrows go at 20 yd with the sight as it stands, as far as walks tell.

    sd [m] of either axis with the next walk's own doubt in it; infinite while nothing tells.
    """

    sd: float = float("inf")


@dataclass(frozen=True, slots=True)
class AimedGap(Output):
    """The gap of a setup as one ``walk`` shows it, with a share of what is not known of where the sight points."""

    walk: str = ""


@dataclass(frozen=True, slots=True)
class _Shift:
    """How much higher and more to the left a setup's fletched arrows go than the present one's, and how sure, [m]."""

    by: FloatArray  # (2,)
    sd: float


@dataclass(frozen=True, slots=True)
class _Walk:
    """A walk among others: its sighting, which ``index`` finds, its centres, the shift of its setup, the ``own``
    variance of its fletched centre [m2] and that of what it is ``off`` by."""

    index: int
    seen: Sighting
    centres: Centres
    shift: _Shift
    own: float
    off: float

    @property
    def place(self) -> FloatArray:
        """Fletched centre less the setup's shift (2,) [m]."""
        return np.asarray(np.array(self.centres.fletched) - self.shift.by)

    @property
    def spread(self) -> float:
        """Variance of ``place`` about S [m2]."""
        return self.own + self.off


def likely_scatter(groups: Sequence[Scatter], archer: Archer) -> float:
    """One-axis sd [rad] from what the archer is known for and the groups' spreads."""
    squares, freedom = _KNOWN_FOR * archer.scatter**2, float(_KNOWN_FOR)
    for group in groups:
        wider = BARE_SPREAD if group.bare else 1.0
        squares += group.squares / (group.distance * wider) ** 2
        freedom += group.freedom
    return sqrt(squares / freedom)


def taken_together(
    sightings: Sequence[Sighting],
    bows: tuple[Members, Strokes],
    setups: Sequence[Setup],
    present: Setup,
    sight: int,
    scatter: float,
) -> tuple[list[Sighting], Aim]:
    """``sightings`` with every gap read against where all walks of one sight and distance say that fletched arrows go.

    ``present`` is the setup whose fletched arrows S is of, ``sight`` how often the sight had been moved by then;
    ``scatter`` [rad] the archer's likely one.
    """
    found, aim = list(sightings), Aim()
    for (moved, distance, worked), walked in _with_one_sight(sightings, setups).items():
        used = {sighting.output.setup for _, sighting, _ in walked}
        shifts = {setup: _shift(bows, setups[setup], present, distance) for setup in used}
        for run in _runs(walked, shifts, scatter):
            s_mean, s_var = _where(run)
            if len(run) > 1:
                for walk, told in zip(run, _read(run, s_mean, s_var), strict=True):
                    found[walk.index] = told
            if (moved, distance, worked) == (sight, GAP_DISTANCE, present.bow.worked):
                aim = Aim(sqrt(s_var + WALK_SD**2))
    return found, aim


def _with_one_sight(
    sightings: Sequence[Sighting], setups: Sequence[Setup]
) -> dict[tuple[int, float, int], list[tuple[int, Sighting, Centres]]]:
    """The gaps, with index and centres, by sight setting, distance, and stretch of time without work on the bow."""
    groups: dict[tuple[int, float, int], list[tuple[int, Sighting, Centres]]] = {}
    for i, sighting in enumerate(sightings):
        if sighting.centres is not None:
            worked = setups[sighting.output.setup].bow.worked
            key = (sighting.centres.sight, sighting.output.distance, worked)
            groups.setdefault(key, []).append((i, sighting, sighting.centres))
    return groups


def _shift(bows: tuple[Members, Strokes], setup: Setup, present: Setup, distance: float) -> _Shift | None:
    """The shift of ``setup`` over the plausible bows; None where too few of them can say."""
    if setup == present:
        return _Shift(np.zeros(2), 0.0)
    (there, fine), (here, also) = (fletched_holes(*bows, s, distance) for s in (setup, present))
    both = fine & also
    if np.count_nonzero(both) < 0.5 * len(both):
        return None
    by = there[both] - here[both]
    built = setup.build != present.build or setup.bow != present.bow or setup.bolt_turns != present.bolt_turns
    middle = by.mean(axis=0)
    parts = (*by.std(axis=0), SHIFT_SHARE * hypot(*middle), BUILT_SD * distance / GAP_DISTANCE if built else 0.0)
    return _Shift(np.asarray(middle), hypot(*parts))


def _runs(
    walked: Sequence[tuple[int, Sighting, Centres]], shifts: Mapping[int, _Shift | None], scatter: float
) -> list[list[_Walk]]:
    """The walks in order, cut where the fletched arrows land elsewhere than those before them foretell."""
    counts = Counter(sighting.output.setup for _, sighting, _ in walked)
    runs: list[list[_Walk]] = []
    for i, sighting, centres in walked:
        output, shift = sighting.output, shifts[sighting.output.setup]
        if shift is None:
            runs.append([])
            continue
        far = output.distance / GAP_DISTANCE
        own = ((scatter * output.distance) ** 2 + noise.HOLE.sd**2) / centres.fletched_shots
        # what a shift is out by comes back at every walk of the setup, so it does not average out
        off = (WALK_SD * far) ** 2 + counts[output.setup] * shift.sd**2
        walk = _Walk(i, sighting, centres, shift, own, off)
        if not runs or (runs[-1] and _elsewhere(runs[-1], walk)):
            runs.append([])
        runs[-1].append(walk)
    return [run for run in runs if run]


def _elsewhere(run: Sequence[_Walk], walk: _Walk) -> bool:
    mean, variance = _where(run)
    return float(np.sum((walk.place - mean) ** 2)) > _ELSEWHERE * (variance + walk.spread)


def _where(run: Sequence[_Walk]) -> tuple[FloatArray, float]:
    """Mean (2,) and variance of S from the fletched arrows of a run."""
    weight = np.array([1.0 / walk.spread for walk in run])
    variance = 1.0 / (float(weight.sum()) + 1.0 / SIGHT_SD**2)
    return np.asarray(variance * (weight @ np.array([walk.place for walk in run]))), variance


def _read(run: Sequence[_Walk], s_mean: FloatArray, s_var: float) -> list[Sighting]:
    """Each gap of a run read anew; what own offsets of shafts are in S goes along, so it stays one with theirs."""
    in_s: dict[ShaftKey, float] = {}
    for walk in run:
        for key, share in walk.centres.fletched_shares:
            in_s[key] = in_s.get(key, 0.0) + s_var / walk.spread * share
    found = []
    for walk in run:
        before, centres, w = walk.seen, walk.centres, walk.own / walk.spread
        fletched = w * (s_mean + walk.shift.by) + (1.0 - w) * np.array(centres.fletched)
        value = np.array(centres.bare) - fletched
        shares = dict(centres.bare_shares)
        for key, share in centres.fletched_shares:
            shares[key] = shares.get(key, 0.0) - (1.0 - w) * share
        for key, share in in_s.items():
            shares[key] = shares.get(key, 0.0) - w * share
        # how much less of the noise of the walk's own fletched arrows is in it
        less = ((1.0 - w) ** 2 - 1.0) / centres.fletched_shots
        fixed = before.noise.fixed + noise.HOLE.sd**2 * less + w**2 * walk.off
        archer = before.noise.archer + before.output.distance**2 * less
        told = replace(
            before,
            value=(float(value[0]), float(value[1])),
            noise=replace(before.noise, fixed=fixed, archer=archer),
            shafts=tuple(shares.items()),
            aim=w * sqrt(s_var),
            run=run[0].seen.events[0],
        )
        found.append(told)
    return found


def aimed_kernel(kernel: Kernel, sightings: Sequence[Sighting]) -> tuple[Kernel, list[Output]]:
    """``kernel`` with a column for every gap read against a common aim, and each sighting's output in it.

    What is not known of the aim is a coordinate of each plane for every run of walks; the bows know nothing of it.
    """
    outputs: list[Output] = [s.output for s in sightings]
    aimed = [i for i, s in enumerate(sightings) if s.run]
    if not aimed:
        return kernel, outputs
    runs = list(dict.fromkeys(sightings[i].run for i in aimed))
    bases, extra = [], np.zeros((2 * len(runs), len(aimed), 2))
    for j, i in enumerate(aimed):
        sighting = sightings[i]
        bases.append(kernel.outputs.index(sighting.output))
        base = sighting.output
        outputs[i] = AimedGap(base.setup, base.what, base.distance, sighting.events[-1])
        for plane in range(2):
            extra[2 * runs.index(sighting.run) + plane, j, plane] = -sighting.aim
    return widened(kernel, bases, [outputs[i] for i in aimed], extra), outputs
