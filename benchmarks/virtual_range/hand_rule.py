"""The way it is done by hand today, written down: the facts of the trade as a rule, played fairly.

Half-inch cuts while the gap is large, rest trims while it is small, direction by the table of signs; shots are repeated
before a small gap is believed; limb bolts and points come before the saw; a move that made it worse is put back and the
other way tried; a stiff arrow is never cut; touching ends it. All 'common practice, no published source'.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace

import numpy as np

from benchmarks.virtual_range.bench import Act, Bench, Choice
from benchmarks.virtual_range.reading import Gap, clean_angle, own_scatter, read_gap
from spinewright.equipment import LimitState, Setup, safety_limits
from spinewright.errors import EquipmentError
from spinewright.evidence import NockSeries, Tear, Visit, bow_check_state
from spinewright.units import INCH

__all__ = ["HandRule"]

GROUP = 3  # bare and as many fletched
TOUCHING = 0.8 * INCH
SMALL, LARGE = 1.0 * INCH, 3.0 * INCH
ANOTHER = 2.0 * INCH  # what is left when another shaft is worth its money
CUT = 0.5 * INCH
TOO_WIDE = 1.65 * INCH  # one-axis sd at which twelve of each do not tell the gap to an inch either way (computed)
STRAIGHT = float(np.deg2rad(0.5))
MOST_TRIMS = 14


@dataclass(frozen=True, slots=True)
class Trial:
    """A change that waits for its shots: what was done, from where, and the gap before."""

    knob: str
    way: float
    before: Setup
    gap: Gap

    def part(self, gap: Gap) -> float:
        """What of a gap [m] this change was meant for, with its sign; for bolts, point and cut the whole of it."""
        return {"rest y": gap.y, "rest z": gap.z}.get(self.knob, gap.size)


@dataclass
class HandRule:
    """The rule with its memory of one hunt; a new one for every hunt."""

    trial: Trial | None = None
    failed: set[tuple[str, float]] = field(default_factory=set)
    no_show: dict[tuple[str, float], int] = field(default_factory=dict)
    steps: dict[str, float] = field(default_factory=lambda: {"rest y": INCH / 64, "rest z": INCH / 64})
    trims: int = 0
    nock_done: bool = False

    def choose(self, bench: Bench) -> Choice:
        """The next act."""
        first = self._checks(bench) or self._nock(bench)
        if first is not None:
            return first
        visits = [s.what for s in bench.history.seen if isinstance(s.what, Visit)]
        scatter = own_scatter(visits)
        gap = read_gap(bench.visits(bench.now), scatter) if bench.visits(bench.now) else None
        if gap is None:
            return Choice(Act.SHOOT, GROUP, why="not shot yet")
        if scatter > TOO_WIDE:
            if len(visits) < 2:
                return Choice(Act.SHOOT, GROUP, why="wide groups, once more")
            return Choice(Act.STOP, why="archer")
        if self._unsure(gap):
            return Choice(Act.SHOOT, GROUP, why="repeat")
        return self._put_back(gap) or self._touching(gap) or self._move(bench, gap)

    def _checks(self, bench: Bench) -> Choice | None:
        history = bench.history
        state = bow_check_state(history.bow_check)
        if state.missing:
            return Choice(Act.CHECK_BOW)
        if state.wrong:
            return Choice(Act.TECHNICIAN)
        if not any(isinstance(s.what, Visit) for s in history.seen):
            return Choice(Act.SHOOT, GROUP, why="nothing shot")
        if history.contact_check is None:
            return Choice(Act.CHECK_CONTACT)
        return None

    def _nock(self, bench: Bench) -> Choice | None:
        """A bare tear of half an inch: the nock is turned through paper first, and set where the tear is cleanest."""
        seen = bench.history.seen
        tears = [s.what for s in seen if isinstance(s.what, Tear)]
        if self.nock_done or not tears:
            return None
        if np.hypot(*np.mean([(t.tail_y, t.tail_z) for t in tears], axis=0)) <= 0.5 * INCH:
            self.nock_done = True
            return None
        series = [s.what for s in seen if isinstance(s.what, NockSeries)]
        if not series:
            return Choice(Act.SERIES)
        self.nock_done = True
        angle, gain = clean_angle(series[-1])
        if gain < 0.25 * INCH:
            return None
        turned = float(np.angle(np.exp(1j * angle)))
        return Choice(Act.CHANGE, after=replace(bench.now, nock_angle=turned), why="cleanest nock angle")

    @staticmethod
    def _unsure(gap: Gap) -> bool:
        """Shots are repeated before a small gap is believed, and while scatter could have made it."""
        return gap.walks < 3 and (gap.size < 2.0 * gap.doubt or (gap.size <= SMALL and gap.walks < 2))

    def _put_back(self, gap: Gap) -> Choice | None:
        """Judge the last change; one that made it worse by more than scatter is put back, if that can be done."""
        trial, self.trial = self.trial, None
        if trial is None:
            return None
        key, noise = (trial.knob, trial.way), float(np.hypot(gap.doubt, trial.gap.doubt))
        part, was = trial.part(gap), trial.part(trial.gap)
        overshot = part * was < 0.0 and abs(part) > gap.doubt
        if overshot:
            self.steps[trial.knob] *= 0.5
        if abs(part) > abs(was) + noise:
            if not overshot:
                self.failed.add(key)
            if trial.knob == "cut":
                return None
            return Choice(Act.CHANGE, after=trial.before, why=f"{trial.knob}: worse, put back")
        if abs(part) > abs(was) - 0.5 * noise:
            self.no_show[key] = self.no_show.get(key, 0) + 1
            if self.no_show[key] >= 2:
                self.failed.add(key)
        return None

    @staticmethod
    def _touching(gap: Gap) -> Choice | None:
        return Choice(Act.STOP, why="tuned") if gap.size <= TOUCHING and gap.walks >= 2 else None

    def _move(self, bench: Bench, gap: Gap) -> Choice:
        """The first open move of the order that the size of the gap asks for."""
        for knob, way, after in self._order(bench, gap):
            if (knob, way) in self.failed or after is None or not _allowed(bench, after):
                continue
            if knob == "cut" and bench.safe_length is None:
                return Choice(Act.MARK)
            if knob == "cut":  # a shorter arrow asks the rest anew
                self.failed = {f for f in self.failed if not f[0].startswith("rest")}
            if knob.startswith("rest"):
                if self.trims >= MOST_TRIMS:
                    continue
                self.trims += 1
            self.trial = Trial(knob, way, bench.now, gap)
            return Choice(Act.CHANGE, after=after, why=knob)
        if gap.size <= SMALL:
            return Choice(Act.STOP, why="tuned")
        other = _other_shaft(bench, gap)
        if other is not None:
            self.failed, self.trims = set(), 0
            return Choice(Act.CHANGE, after=other, why="other shaft")
        return Choice(Act.STOP, why="out of reach" if gap.size > LARGE else "no better")

    def _order(self, bench: Bench, gap: Gap) -> Iterator[tuple[str, float, Setup | None]]:
        trims, spine = list(_trims(bench.now, gap, self.steps)), list(_spine(bench, gap))
        if gap.size > LARGE and abs(gap.y) > max(0.5 * abs(gap.z), gap.doubt):
            yield from spine
            yield from trims
        else:
            yield from trims
            if gap.size > SMALL:
                yield from spine


def _trims(now: Setup, gap: Gap, steps: dict[str, float]) -> Iterator[tuple[str, float, Setup | None]]:
    """The rest, the larger way first: toward the bare hole, or away from it when the shafts stand straight."""
    share = 1.0 if gap.size > 1.5 * INCH else 0.5
    way = float(np.sign(gap.y))
    if gap.lean is not None and abs(gap.y) > SMALL and abs(gap.lean) < STRAIGHT:
        way = -way
    up = -float(np.sign(gap.z))  # bare low: raise the rest
    bow = now.bow.rest
    sideways = [
        ("rest y", w, _rest(now, w * _clicks(share * steps["rest y"], bow.per_click_sideways), 0.0))
        for w in (way, -way)
    ]
    height = [
        ("rest z", w, _rest(now, 0.0, w * _clicks(share * steps["rest z"], bow.per_click_height))) for w in (up, -up)
    ]
    both = (sideways, height) if abs(gap.y) >= abs(gap.z) else (height, sideways)
    yield from (both[0][0], both[1][0], both[0][1], both[1][1])


def _clicks(step: float, per_click: float | None) -> float:
    return max(1, round(step / per_click)) * per_click if per_click else step


def _rest(now: Setup, dy: float, dz: float) -> Setup | None:
    return _made(lambda: replace(now, rest_y=now.rest_y + dy, rest_z=now.rest_z + dz))


def _spine(bench: Bench, gap: Gap) -> Iterator[tuple[str, float, Setup | None]]:
    """Weak: bolts out, a lighter point, then half an inch off. Stiff: bolts in, a heavier point, never the saw."""
    weak = gap.y < -gap.doubt
    stiff = gap.y > gap.doubt
    if not (weak or stiff):
        return
    way = -1.0 if weak else 1.0
    yield "bolts", way, _bolts(bench, way)
    yield "point", way, _point(bench, way)
    if weak:
        yield "cut", way, _cut(bench.now)


def _bolts(bench: Bench, way: float) -> Setup | None:
    """Both limb bolts one turn from the start and no more, within what the maker allows: it costs speed or strength."""
    now, start = bench.now, bench.history.start
    bow = now.bow
    if bow.weight_per_turn is None or bow.turns_allowed is None:
        return None
    turned = now.bolt_turns - start.bolt_turns + way
    if abs(turned) > 1.0 or not 0.0 <= bow.turns_out_now - turned <= bow.turns_allowed:
        return None
    since = now.bolts_since_weighed + way
    return _made(lambda: replace(now, bolt_turns=now.bolt_turns + way, bolts_since_weighed=since))


def _point(bench: Bench, way: float) -> Setup | None:
    """The next lighter or heavier point this person owns, one step from where the hunt began."""
    build = bench.now.build
    heads = (*bench.world.truth.heads, bench.history.start.build.head)
    others = sorted((h for h in heads if way * (h.mass - build.head.mass) > 1e-5), key=lambda h: way * h.mass)
    if build.head != bench.history.start.build.head or not others:
        return None
    return _made(lambda: replace(bench.now, build=replace(build, head=others[0])))


def _cut(now: Setup) -> Setup | None:
    build = now.build
    throat, carbon = build.throat_length - CUT, build.carbon_length - CUT
    return _made(lambda: replace(now, build=replace(build, throat_length=throat, carbon_length=carbon)))


def _other_shaft(bench: Bench, gap: Gap) -> Setup | None:
    """Where all else is done: long shafts of the stiffer or weaker kind at hand, everything else where it began."""
    start, now = bench.history.start, bench.now.build.shaft
    if gap.size <= ANOTHER or abs(gap.y) <= gap.doubt or now != start.build.shaft:
        return None
    others = [s for s in bench.world.truth.shafts if (s.static_spine - now.static_spine) * gap.y > 0.0]
    after = _made(lambda: replace(start, build=replace(start.build, shaft=others[0]))) if others else None
    return after if after is not None and _allowed(bench, after) else None


def _made(make: Callable[[], Setup]) -> Setup | None:
    try:
        return make()
    except EquipmentError:
        return None


def _allowed(bench: Bench, after: Setup) -> bool:
    """Within the marked length and the same limits of mass, spine and length that everyone keeps."""
    if bench.safe_length is not None and after.build.carbon_length < bench.safe_length - 1e-6:
        return False
    for bare in (False, True):
        before = {x.what for x in safety_limits(bench.now, bare=bare) if x.state is LimitState.BROKEN}
        after_ = {x.what for x in safety_limits(after, bare=bare) if x.state is LimitState.BROKEN}
        if after_ - before:
            return False
    return True
