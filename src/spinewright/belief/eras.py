"""The bow before and after work on it: plausible bows of each stretch of time, and what shots from before still say.

Work on a bow (a new string, another cam) parts a history in eras. The bows drawn are those of the present; the same
bows in an earlier era are as much like them as such work leaves of what was learnt (``kept``), so whatever was seen
then teaches of the present just so much. What the learnt answers may have changed by at the work is, to the rows seen
before it, one error they all share: a latent of its own.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from spinewright.belief.design import Kernel
from spinewright.belief.kept import blended, kept_of_answers, kept_of_places, members_after
from spinewright.belief.physics import Output, Physics, Strokes, run_physics
from spinewright.belief.prior import UNKNOWNS, Members
from spinewright.belief.response import TOUCH_SD, Latent, Theta, spine_coordinates
from spinewright.equipment import Setup
from spinewright.evidence import Changed, History
from spinewright.units import INCH

__all__ = ["era_members", "present_bows", "run_eras", "standing", "with_works"]

FloatArray = NDArray[np.float64]

#: The middles of the prior's answers to length and rest, sideways and height [m/m], and one sd of how much too weak the
#: arrow and how far off the rest may be [m] (as in ``ResponsePrior``, nothing checked; a test holds them to it).
USUAL_ARROW = (2.6, 1.3)
USUAL_REST = (3.0 * INCH / 1e-3, 2.5 * INCH / 1e-3)
TOO_WEAK_SD, REST_SD = 1.25 * INCH, 0.6e-3
_TOUCHED = 0.25  # share of bows on which something touches, nothing checked


def standing(history: History, era: int) -> Setup:
    """The start as it holds for the bow of ``era``: after another cam what was read of the bow before says nothing."""
    start = history.start
    for k, changed in enumerate(history.works[:era], 1):
        if Changed.CAM in changed:
            start = replace(start, bow=replace(_first(history, k).bow, speeds=()), bolts_since_weighed=0.0)
    return start


def _first(history: History, era: int) -> Setup:
    """The first setup of ``era``."""
    return next((one for one in history.setups if one.bow.worked == era), history.now)


def present_bows(xi: FloatArray, history: History) -> Members:
    """The plausible bows of ``xi`` (N, P) as the bow stands now."""
    last = len(history.works)
    if not last:
        return members_after(xi, history.start, history.bow_check, (), history.start.bow)
    return members_after(xi, standing(history, last), history.bow_check, (), _first(history, last).bow)


def era_members(history: History, bows: int, seed: int) -> list[Members]:
    """``bows`` plausible bows in every era, the present last: the same ones, changed by each work in between."""
    xi = np.random.default_rng([seed, 1]).standard_normal((bows, len(UNKNOWNS)))
    found = [present_bows(xi, history)]
    for k in reversed(range(len(history.works))):
        xi = blended(xi, history.works[k], np.random.default_rng([seed, 10, k]))
        found.append(members_after(xi, standing(history, k), history.checks_before[k], (), _first(history, k).bow))
    return found[::-1]


def run_eras(
    eras: Sequence[Members],
    setups: Sequence[Setup],
    outputs: Sequence[Output],
    strokes: Strokes,
    progress: Callable[[float], None] | None,
) -> Physics:
    """Every output run through the bows of its own era; ``strokes`` are those of the present ones."""
    last = len(eras) - 1
    era_of = [min(setups[output.setup].bow.worked, last) for output in outputs]
    if not last:
        return run_physics(eras[0], setups, outputs, strokes=strokes, progress=progress)
    values = np.zeros((len(eras[0]), len(outputs), 2))
    solved = np.ones(len(eras[0]), dtype=np.bool_)
    reasons: dict[str, None] = {}
    for era, members in enumerate(eras):
        columns = [q for q, own in enumerate(era_of) if own == era]
        told = _part(progress, era, last + 1)
        wanted = tuple(outputs[q] for q in columns)
        found = run_physics(members, setups, wanted, strokes=strokes if era == last else None, progress=told)
        values[:, columns] = found.values
        solved &= found.solved
        reasons[found.reason] = None
    values[~solved] = 0.0
    return Physics(tuple(outputs), values, solved, "; ".join(one for one in reasons if one))


def _part(progress: Callable[[float], None] | None, part: int, parts: int) -> Callable[[float], None] | None:
    return None if progress is None else lambda share: progress((part + share) / parts)


def with_works(kernel: Kernel, history: History, setups: Sequence[Setup]) -> Kernel:
    """``kernel`` with latents for what each work on the bow may have changed of the learnt answers.

    Outputs of setups from before the work hold them, those from after it do not. The bows know nothing of them.
    """
    added = [row for k in range(len(history.works)) for row in _of_work(kernel, history, setups, k)]
    if not added:
        return kernel
    weight = np.concatenate([kernel.weight, np.stack(added)])
    return replace(kernel, weight=weight, z=np.pad(kernel.z, ((0, 0), (0, len(added)))))


def _of_work(kernel: Kernel, history: History, setups: Sequence[Setup], work: int) -> Iterator[FloatArray]:
    """(Q, 2) one row for each latent of one work: places, answer to the arrow, answer to the rest, in each plane."""
    now = history.now
    used = [setups[output.setup] for output in kernel.outputs]
    before = np.array([one.bow.worked <= work for one in used])
    weaker = np.array([spine_coordinates(one, now).sum() for one in used])
    moved = np.array([(one.rest_y - now.rest_y, one.rest_z - now.rest_z - one.nock_z + now.nock_z) for one in used])
    places, arrow, rest = _sds(history.works[work])
    for plane in range(2):
        ratio = kernel.ratio[:, plane] * before
        for column in (places[plane], arrow[plane] * weaker, rest[plane] * moved[:, plane]):
            row = np.zeros((len(used), 2))
            row[:, plane] = ratio * column
            if np.any(row):
                yield row


def _sds(changed: Sequence[Changed]) -> tuple[FloatArray, FloatArray, FloatArray]:
    """One sd, sideways and height, of what such work changes: places [m at 20 yd], answers to arrow and rest [m/m].

    Two draws with correlation r differ by sqrt(2 (1 - r)) of their sd; so do, in the mean of their squares, an answer
    and itself drawn anew one time in so many.
    """

    def apart(kept: float) -> float:
        return float(np.sqrt(2.0 * (1.0 - kept)))

    weak = apart(kept_of_places(changed, Latent.TOO_WEAK)) * TOO_WEAK_SD
    touched = apart(kept_of_answers(changed, Theta.TOUCH)) * np.sqrt(_TOUCHED) * TOUCH_SD
    off = [apart(kept_of_places(changed, one)) * REST_SD for one in (Latent.REST_Y, Latent.REST_Z)]
    places = [
        np.sqrt((arrow * weak) ** 2 + (rest * aside) ** 2 + touched**2)
        for arrow, rest, aside in zip(USUAL_ARROW, USUAL_REST, off, strict=True)
    ]
    arrow = apart(kept_of_answers(changed, Theta.LENGTH_Y)) * np.array(USUAL_ARROW)
    rest = np.array([apart(kept_of_answers(changed, one)) for one in (Theta.REST_Y, Theta.REST_Z)])
    return np.array(places), arrow, rest * np.array(USUAL_REST)
