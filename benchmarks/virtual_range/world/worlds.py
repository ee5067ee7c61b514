"""A world to shoot in: its true gap with any setup, and what a person sees there, in the logbook's frame."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from benchmarks.virtual_range.world.airborne import Landing, Surfaces, fly
from benchmarks.virtual_range.world.beam import Beam, arrow_beam
from benchmarks.virtual_range.world.bench_drawn import with_speeds
from benchmarks.virtual_range.world.drawing import draw_truth
from benchmarks.virtual_range.world.shooting import DISTANCE, Condition, Group, shoot
from benchmarks.virtual_range.world.stroke import Leaving, loose
from benchmarks.virtual_range.world.truth import Truth, WorldKind
from spinewright.equipment import Archer, ArrowBuild, DrawCurve, Setup, SpeedReading, fit_virtual_mass
from spinewright.errors import EquipmentError
from spinewright.evidence import BowCheck, ContactCheck, Impact, NockReading, NockSeries, Tear, Visit
from spinewright.units import INCH, Hand

__all__ = ["DISTANCE", "World", "draw_world"]

FloatArray = NDArray[np.float64]
_Slip = tuple[int, int, float]  # plane and column of the faults, and how much [SI]
_NO_SLIP: _Slip = (0, 0, 0.0)

_PAPER = 6 * 0.3048
_MARGIN = INCH  # m of shaft in front of the rest at full draw where the helper makes the mark
_BLADES = 2.0 * 1.5 * 1.3e-4  # m2/rad of three blades of 1.3 cm2
_CLEAN = Condition(False, False)
#: The archer's own mistakes as stated to every arrow (from memory): sideways and in height, column of the faults and
#: amount: a nock held half a millimetre off, and a release that kicks it by 0.25 mN s.
_MISTAKES = tuple((plane, column, amount) for plane in (0, 1) for column, amount in ((4, 0.5e-3), (5, 0.25e-3)))
#: A bare shaft this far off at the start is sent home for another shaft, and one under this needs no hunt.
_FARTHEST, _NEAREST = 10.0 * INCH, 1.0 * INCH


@dataclass(frozen=True, slots=True)
class _Arrow:
    """Which arrow flies how far, what it carries and what the archer did wrong with it."""

    bare: bool
    blades: float = 0.0
    distance: float = DISTANCE
    slip: _Slip = _NO_SLIP


_FLETCHED = _Arrow(bare=False)


def draw_world(seed: int, kind: WorldKind, hand: Hand = Hand.RIGHT) -> World:
    """World ``seed`` of a kind: the first of its attempts whose true gap at the start is 1 to 10 in."""
    for attempt in range(1000):
        truth = draw_truth(seed, kind, attempt)
        world = World(truth)
        if _NEAREST <= np.hypot(*world.gap(world.start, world.condition)) <= _FARTHEST:
            return world if hand is Hand.RIGHT else World(truth.mirrored())
    raise ValueError(f"no attempt at world {seed} starts within 1 to 10 in")


class World:
    """One world. Setups given and holes returned are in the logbook's right-handed frame, whatever the hand."""

    def __init__(self, truth: Truth) -> None:
        self.truth = truth
        self._leavings: dict[tuple[Setup, bool, bool, _Slip], Leaving] = {}
        self._gaps: dict[tuple[Setup, Condition, float], FloatArray] = {}
        self._beams: dict[tuple[ArrowBuild, float, bool], Beam] = {}
        self._landings: dict[tuple[Setup, bool, _Arrow], Landing] = {}

    @cached_property
    def start(self) -> Setup:
        """The bench as the hunt finds it, with what a chronograph read."""
        return with_speeds(self._logged(self.truth.start), self._speeds())

    @property
    def archer(self) -> Archer:
        """The archer, with the scatter they state."""
        hand = Hand.RIGHT if self.truth.sign > 0 else Hand.LEFT
        return Archer(hand, scatter=float(np.clip(self.truth.shooter.stated / DISTANCE, 1e-4, 0.02)))

    @property
    def condition(self) -> Condition:
        """What of the faults stands when the hunt begins."""
        faults = self.truth.faults
        return Condition(bool(np.any(faults.contact)), faults.wrong_item != "")

    @property
    def expected_length(self) -> float | None:
        """Carbon length [m] a chart would end at, when this person asked one."""
        spare = self.truth.spare
        return None if spare is None else self.start.build.carbon_length - spare

    @property
    def safe_length(self) -> float:
        """Shortest safe carbon length [m] as the helper marks it."""
        build = self.start.build
        return self.start.rest_reach + _MARGIN - (build.throat_length - build.carbon_length)

    def bow_check(self, condition: Condition) -> BowCheck:
        """What a look at the bow finds."""
        check = BowCheck(*(True,) * 10)
        return replace(check, **{self.truth.faults.wrong_item: False}) if condition.amiss else check

    def contact_check(self, condition: Condition) -> ContactCheck:
        """What powder shows; in some worlds it misses a touching vane."""
        clean = ContactCheck(*(True,) * 4)
        return replace(clean, vanes=False) if condition.touching and self.truth.faults.powder_shows else clean

    def gap(self, setup: Setup, condition: Condition = _CLEAN, distance: float = DISTANCE) -> FloatArray:
        """(2,) true gap [m] at ``distance`` [m]: bare less fletched; what the trade reports grows with distance."""
        key = (setup, condition, distance)
        if key not in self._gaps:
            lab = self._lab(setup)
            bare, fletched = (self._land(lab, condition, _Arrow(bare=b, distance=distance)) for b in (True, False))
            reported = self._beyond(lab)
            if condition.touching:
                reported = reported + self.truth.faults.contact
            self._gaps[key] = self._side(bare.place - fletched.place + distance / DISTANCE * reported)
        return self._gaps[key]

    def spine_gap(self, setup: Setup, condition: Condition = _CLEAN) -> FloatArray:
        """The gap with rest and nock point back at their recorded start."""
        start = self.start
        return self.gap(replace(setup, rest_y=start.rest_y, rest_z=start.rest_z, nock_z=start.nock_z), condition)

    def too_stiff(self, setup: Setup) -> tuple[float, float]:
        """How much too short the arrow is [m of length], and what of the gap [m] comes from that."""
        short = -self._too_weak(self._lab(setup))
        return short, float(np.hypot(*(self._bent(-short) * self.truth.answers.length)))

    def heads(self, setup: Setup, condition: Condition = _CLEAN) -> float:
        """How far a fixed-blade head lands from field points on fletched arrows [m at 20 yd]."""
        lab = self._lab(setup)
        plain = self._land(lab, condition, _FLETCHED)
        headed = self._land(lab, condition, _Arrow(bare=False, blades=_BLADES))
        return float(np.hypot(*(headed.place - plain.place + self.truth.answers.heads * self._beyond(lab))))

    def mistakes(self, setup: Setup) -> float:
        """How far the archer's own mistakes move a fletched hit [m at 20 yd], all stated ones as root of squares."""
        lab = self._lab(setup)
        plain = self._land(lab, _CLEAN, _FLETCHED)
        side = (float(self.truth.sign), 1.0)
        slips = [(plane, column, side[plane] * amount) for plane, column, amount in _MISTAKES]
        hits = [self._land(lab, _CLEAN, _Arrow(bare=False, slip=slip)).place for slip in slips]
        return float(np.linalg.norm([hit - plain.place for hit in hits]))

    def shoot(self, setup: Setup, condition: Condition, group: Group) -> Visit:
        """One walk to the target."""
        lab = self._lab(setup)
        fletched = _Arrow(bare=False, distance=group.distance)
        landed = self._land(lab, condition, fletched)
        sighted = self._land(self._lab(self.start), self.condition, fletched)
        lean = self._lean(lab, condition, group.distance)
        gap = self._side(self.gap(setup, condition, group.distance))
        impacts = shoot(self.truth, group, landed.place - sighted.place, gap, lean)
        return Visit(group.distance, self.truth.target, tuple(self._mirror(i) for i in impacts))

    def tears(self, setup: Setup, condition: Condition, walk: int) -> tuple[Tear, ...]:
        """Two bare tears at six feet."""
        rng = np.random.default_rng([self.truth.seed, 74, walk])
        tails = [self._tail(setup, condition, rng) for _ in range(2)]
        return tuple(Tear(11 + k, True, _PAPER, float(t[0]), float(t[1])) for k, t in enumerate(tails))

    def nock_series(self, setup: Setup, condition: Condition, walk: int) -> NockSeries:
        """A bare shaft through paper with the nock turned in steps of 20 degrees."""
        rng = np.random.default_rng([self.truth.seed, 75, walk])
        readings = []
        for k in range(18):
            angle = float(np.deg2rad(20.0 * k))
            tail = self._tail(replace(setup, nock_angle=_wrapped(angle)), condition, rng)
            readings.append(NockReading(angle, float(tail[0]), float(tail[1])))
        return NockSeries(11, True, _PAPER, True, tuple(readings))

    def _tail(self, setup: Setup, condition: Condition, rng: np.random.Generator) -> FloatArray:
        """Where the tail tears from the point's hole [m], logbook frame, with the archer's own part."""
        lab = self._lab(setup)
        leaving = self._leaving(lab, condition, bare=True)
        body = self._surfaces(lab, bare=True)
        near, far = (fly(self.truth.nature.air, body, leaving, d) for d in (_PAPER, _PAPER + 0.3))
        axis = near.angle - (far.place - near.place) / 0.3
        # What the trade sees beyond the physics also shows on paper, at the share a gap of an inch makes there.
        tail = -body.length * axis - 0.25 * self._beyond(lab) + leaving.bent
        return np.clip(self._side(tail) + 0.2 * INCH * rng.standard_normal(2), -0.29, 0.29)

    def _speeds(self) -> tuple[SpeedReading, ...]:
        """What the chronograph reads, all shot again where the readings contradict each other, as a person is told."""
        rng = np.random.default_rng([self.truth.seed, 76])
        while True:
            found = self._clocked(rng)
            try:
                fit_virtual_mass(DrawCurve.of(self.truth.start.bow), found)
            except EquipmentError:
                continue
            return found

    def _clocked(self, rng: np.random.Generator) -> tuple[SpeedReading, ...]:
        """The arrow as it is, and with the heaviest other head owned, over the chronograph once each."""
        doubt = 0.6
        found = []
        start = self.truth.start
        for head in (start.build.head, *self.truth.heads[-1:]):
            setup = replace(start, build=replace(start.build, head=head))
            speed = self._leaving(setup, self.condition, bare=False).speed + doubt * rng.standard_normal()
            found.append(SpeedReading(setup.build.total_mass(bare=False), float(speed), doubt))
        return tuple(found)

    def _lab(self, setup: Setup) -> Setup:
        """A logbook setup as it stands in the world, without what only the logbook knows of it."""
        bare = replace(setup, bow=replace(setup.bow, speeds=()))
        return bare if self.truth.sign > 0 else bare.mirrored()

    def _logged(self, setup: Setup) -> Setup:
        return setup if self.truth.sign > 0 else setup.mirrored()

    def _side(self, vector: FloatArray) -> FloatArray:
        return np.asarray(vector * np.array([float(self.truth.sign), 1.0]))

    def _mirror(self, impact: Impact) -> Impact:
        if self.truth.sign > 0:
            return impact
        lean = None if impact.lean_y is None else -impact.lean_y
        return replace(impact, y=-impact.y, lean_y=lean)

    def _leaving(self, lab: Setup, condition: Condition, *, bare: bool, slip: _Slip = _NO_SLIP) -> Leaving:
        key = (lab, condition.amiss, bare, slip)
        if key not in self._leavings:
            nature = self.truth.nature
            more = lab.present_peak_weight / self.truth.start.present_peak_weight
            pull = nature.pull._replace(peak=nature.pull.peak * more, holding=nature.pull.holding * more)
            faults = nature.faults + (self.truth.faults.amiss if condition.amiss else 0.0)
            faults[0, 3] += lab.rest_y
            faults[1, 3] += lab.rest_z
            faults[1, 0] += lab.nock_z
            faults[slip[0], slip[1]] += slip[2]
            with_string = self._beam(lab, nature.on_nock, bare=bare)
            self._leavings[key] = loose(with_string, self._beam(lab, 0.0, bare=bare), pull, nature.law, faults,
                                        nature.damping)  # fmt: skip
        return self._leavings[key]

    def _beam(self, lab: Setup, on_nock: float, *, bare: bool) -> Beam:
        key = (lab.build, on_nock, bare)
        if key not in self._beams:
            stiffness = self.truth.nature.stiffness
            self._beams[key] = arrow_beam(lab.build, bare=bare, stiffness_factor=stiffness, on_nock=on_nock)
        return self._beams[key]

    def _surfaces(self, lab: Setup, *, bare: bool, blades: float = 0.0) -> Surfaces:
        build, beam = lab.build, self._beam(lab, 0.0, bare=bare)
        vanes = build.fletching
        area = 0.6 * vanes.count * vanes.length * vanes.height
        nature = self.truth.nature
        return Surfaces(
            mass=beam.total,
            inertia=beam.inertia,
            diameter=build.shaft.outer_diameter,
            length=build.throat_length,
            balance=beam.balance,
            tip=build.throat_length + build.head.length - beam.balance,
            vane_place=vanes.from_rear + 0.7 * vanes.length - beam.balance,
            vanes=0.0 if bare else 0.5 * area * 2.6 * nature.vane_lift,
            vane_drag=0.0 if bare else 0.025 * area * nature.vane_drag,
            blades=blades,
        )

    def _land(self, lab: Setup, condition: Condition, arrow: _Arrow) -> Landing:
        key = (lab, condition.amiss, arrow)
        if key not in self._landings:
            leaving = self._leaving(lab, condition, bare=arrow.bare, slip=arrow.slip)
            surfaces = self._surfaces(lab, bare=arrow.bare, blades=arrow.blades)
            self._landings[key] = fly(self.truth.nature.air, surfaces, leaving, arrow.distance)
        return self._landings[key]

    def _lean(self, lab: Setup, condition: Condition, distance: float) -> FloatArray:
        """Lean (2,) [rad] of a bare shaft's nock: away from where the point looks, and against what answers beyond."""
        landed = self._land(lab, condition, _Arrow(bare=True, distance=distance))
        return np.asarray(-landed.angle - self.truth.answers.lean * self._beyond(lab))

    def _beyond(self, lab: Setup) -> FloatArray:
        """(2,) what the gap answers beyond the physics [m], lab frame."""
        answers = self.truth.answers
        found = answers.length * self._bent(self._too_weak(lab))
        moved = np.array([lab.rest_y, lab.rest_z - lab.nock_z]) + answers.rest_off
        found = found + answers.rest * answers.rest_limit * np.arctan(moved / answers.rest_limit)
        angle = lab.nock_angle
        waves = np.array([np.cos(angle) - 1, np.sin(angle), np.cos(2 * angle) - 1, np.sin(2 * angle)])
        return np.asarray(found + answers.turn @ waves)

    def _bent(self, too_weak: float) -> float:
        limit = self.truth.answers.saturation
        return limit * float(np.arctan(too_weak / limit))

    def _too_weak(self, lab: Setup) -> float:
        answers, first = self.truth.answers, self.truth.start
        longer = lab.build.carbon_length - first.build.carbon_length
        heavier = answers.point * (lab.build.head.mass - first.build.head.mass)
        stronger = answers.weight * (lab.present_peak_weight - first.present_peak_weight)
        softer = answers.spine * float(np.log(lab.build.shaft.static_spine / first.build.shaft.static_spine))
        return answers.too_weak + longer + heavier + stronger + softer


def _wrapped(angle: float) -> float:
    return float(np.angle(np.exp(1j * angle)))
