"""What heads of different size do against a field point of the same mass, now and wherever the tune may end."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from spinewright.belief import Members, standing
from spinewright.equipment import Head, Setup, mass_model
from spinewright.errors import InputError
from spinewright.flight import flight_body, turn_of_fletched
from spinewright.outlook.differences import field_point
from spinewright.outlook.following import follow_gap, gap_of_physics
from spinewright.outlook.leaving import passing
from spinewright.outlook.runs import fly_releases, release_states, released
from spinewright.outlook.values import FloatArray, Range, enough_solved

__all__ = ["HeadEffect", "HeadEffects", "head_effects", "sized", "steady"]


@dataclass(frozen=True, slots=True)
class HeadEffect:
    """One head against the field point, over the plausible bows [m; left and up positive].

    far  how far apart the two are;  per_turn [m/rad] how far per angle the arrow leaves askew
    """

    head: Head
    sideways: Range
    height: Range
    far: Range
    per_turn: Range


@dataclass(frozen=True, slots=True)
class HeadEffects:
    """Heads in the order given, at ``distance`` [m].

    turn        [rad] the largest angle to the air in the first swing after release
    if_the_gap  the first head where the tune ends at each of the gaps asked for, in their order
    """

    distance: float
    heads: tuple[HeadEffect, ...]
    turn: Range
    if_the_gap: tuple[HeadEffect, ...]


def sized(head: Head, share: float) -> Head:
    """The same head with blades of ``share`` times the area and the shape they have; mass and reach stay."""
    return replace(head, blade_area=head.blade_area * share, width=head.width * share**0.5)


def head_effects(
    members: Members,
    setup: Setup,
    distance: float,
    heads: Sequence[Head],
    gap: FloatArray,
    ends: Sequence[tuple[float, float]] = (),
) -> HeadEffects:
    """Hole of each head less the hole of a field point of the same mass, from the same releases, at ``distance`` [m].

    ``gap`` (N, 2) [m at 20 yd] is what each bow's true gap is believed to be: offsets and turn follow it, as
    :func:`~spinewright.outlook.following.follow_gap` says. ``ends`` [m at 20 yd] are gaps the tune may end at. Raises
    SolveError when fewer than half of the bows can be computed; heads have to be :func:`steady`.
    """
    stroked = released(members, setup)
    states = release_states(stroked, standing(members, setup))[None], stroked.speed[None]
    point = fly_releases(members, setup, states, distance, head=field_point(setup.build.head))
    physics, answered = gap_of_physics(members, setup)
    use = stroked.solved & point.solved & answered
    offsets = []
    for head in heads:
        flown = fly_releases(members, setup, states, distance, head=head)
        use = use & flown.solved
        offsets.append(flown.hole[0] - point.hole[0])
    enough_solved(use, "the difference between head and field point", stroked.reason or point.reason)
    leaves = passing(members, setup, stroked)
    to_air, turning = (follow_gap(one, physics, gap, use) for one in (leaves.to_air, leaves.turning))
    turn = np.sqrt(np.sum(to_air**2 + turning**2, axis=1))[use]
    found = tuple(
        _effect(head, follow_gap(offset, physics, gap, use)[use], turn)
        for head, offset in zip(heads, offsets, strict=True)
    )
    wherever = tuple(
        _effect(heads[0], follow_gap(offsets[0], physics, np.tile(np.asarray(end), (len(gap), 1)), use)[use], turn)
        for end in ends
    )
    return HeadEffects(distance, found, Range.of(turn), wherever)


def _effect(head: Head, offset: FloatArray, turn: FloatArray) -> HeadEffect:
    """Of one head: ``offset`` (N, 2) [m] on bows that leave the arrow askew by ``turn`` (N,) [rad]."""
    far = np.hypot(offset[:, 0], offset[:, 1])
    return HeadEffect(
        head,
        Range.of(offset[:, 0]),
        Range.of(offset[:, 1]),
        Range.of(far),
        Range.of(far / np.maximum(turn, 1e-6)),
    )


def steady(setup: Setup, head: Head) -> bool:
    """Whether the vanes of ``setup`` turn the arrow back after a small yaw with ``head`` in front."""
    body = flight_body(setup.build, mass_model(setup.build, bare=False), bare=False, head=head)
    try:
        turn_of_fletched(body)
    except InputError:
        return False
    return True
