"""The archer's own fletched groups before and after a change: what they show, and how many more would settle it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import ceil, sqrt

from spinewright.equipment.arrow import HeadKind
from spinewright.errors import EvidenceError, Place
from spinewright.evidence import laws
from spinewright.evidence.groups import select
from spinewright.evidence.scatter import Scatter, archer_scatter
from spinewright.evidence.values import Visit

__all__ = ["Comparison", "Hits", "arrows_to_tell", "compare"]

SHARE = 0.8
MOST_ARROWS = 1_000_000


@dataclass(frozen=True, slots=True)
class Hits:
    """Arrows within a radius of the aiming spot, called bad ones included: they score too.

    ``chance_better`` that the true share of hits is larger after, both shares unknown beforehand (uniform priors).
    """

    before: int
    before_of: int
    after: int
    after_of: int
    chance_better: float


@dataclass(frozen=True, slots=True)
class Comparison:
    """Scatter after over scatter before, one-axis, as angles.

    ratio            below 1 = tighter after; ``low`` .. ``high`` its 80 % interval
    chance_better    that the true ratio is below 1, nothing known beforehand
    p_value          two-sided, chance of a ratio this far from 1 when nothing changed
    called_bad       arrows called bad (before, after), left out of the scatter
    mixed            whether before and after were shot in turns rather than one after the other
    blind            whether the archer did not know which arrow was on the string
    more_for_tenth, more_for_fifth  more arrows of EACH to tell a change of 10 % and of 20 % four times out of five
    """

    before: Scatter
    after: Scatter
    ratio: float
    low: float
    high: float
    chance_better: float
    p_value: float
    called_bad: tuple[int, int]
    mixed: bool
    blind: bool
    more_for_tenth: int
    more_for_fifth: int
    hits: Hits | None = None

    @property
    def sentences(self) -> tuple[str, ...]:
        """What the groups show, in plain words with the numbers that decide."""
        return _say(self)


def compare(
    visits: Sequence[Visit],
    *,
    hit_radius: float | None = None,
    blind: bool = False,
    head: HeadKind = HeadKind.FIELD,
) -> Comparison | None:
    """Compare the visits marked 'before' with those marked 'after', in the order shot; ``None`` when either is missing.

    Each visit has its own centre. With s2 the pooled one-axis variances of hole / distance on nu_b and nu_a degrees of
    freedom, ``(s2_a / s2_b) / F(nu_a, nu_b)`` bounds the true ratio; a Bayesian with a flat prior on the logarithms of
    both scatters gets the same interval. ``hit_radius`` [m] at the target counts hits as well.

    Raises:
        EvidenceError: when ``hit_radius`` is not positive.
    """
    if hit_radius is not None and not 0 < hit_radius < float("inf"):
        raise EvidenceError(
            f"the radius of a hit cannot be {hit_radius:.6g}", "a radius above zero would do", Place(field="hit_radius")
        )
    proof = [v for v in visits if v.purpose and select(v.impacts, bare=False, head=head)]
    before, after = ([v for v in proof if v.purpose == name] for name in ("before", "after"))
    wide, tight = archer_scatter(before, head=head), archer_scatter(after, head=head)
    if wide is None or tight is None:
        return None
    square = (tight.sd / wide.sd) ** 2
    edge = (1 - SHARE) / 2
    better = laws.f_cdf(1 / square, wide.degrees, tight.degrees)
    return Comparison(
        before=wide,
        after=tight,
        ratio=sqrt(square),
        low=sqrt(square / laws.f_quantile(1 - edge, tight.degrees, wide.degrees)),
        high=sqrt(square / laws.f_quantile(edge, tight.degrees, wide.degrees)),
        chance_better=better,
        p_value=2 * min(better, 1 - better),
        called_bad=(_called_bad(before, head), _called_bad(after, head)),
        mixed=sum(a.purpose != b.purpose for a, b in pairwise(proof)) >= 2,
        blind=blind,
        more_for_tenth=_more(0.9, wide, tight),
        more_for_fifth=_more(0.8, wide, tight),
        hits=None if hit_radius is None else _hits(before, after, hit_radius, head),
    )


def arrows_to_tell(ratio: float, level: float = 0.05, power: float = 0.8) -> int:
    """How many arrows of EACH (as one group) show a true scatter ratio at two-sided ``level`` with chance ``power``.

    Power of the F test on 2n - 2 degrees of freedom a side: ``P(F < F_{level/2} / ratio^2)`` for ``ratio`` below 1.

    Raises:
        EvidenceError: when the ratio is not positive or is so near 1 that more than a million arrows would be needed.
    """
    ratio = min(ratio, 1 / ratio) if ratio > 0 else 0.0
    too_near = EvidenceError(
        "that ratio of scatter cannot be told", "ask for a ratio such as 0.9 or 0.8", Place(field="ratio")
    )
    if ratio <= 0 or not _tells(ratio, MOST_ARROWS, level, power):
        raise too_near
    low, high = 1, MOST_ARROWS  # low never tells, high always does
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if _tells(ratio, middle, level, power) else (middle, high)
    return high


def _tells(ratio: float, arrows: int, level: float, power: float) -> bool:
    degrees = 2 * (arrows - 1)
    return laws.f_cdf(laws.f_quantile(level / 2, degrees, degrees) / ratio**2, degrees, degrees) >= power


def _more(ratio: float, before: Scatter, after: Scatter) -> int:
    """More arrows of each so that both sides' degrees of freedom are worth what :func:`arrows_to_tell` asks.

    The variance of ln(ratio) is about 1/(2 nu_b) + 1/(2 nu_a); one arrow more adds two degrees on its side.
    """
    wanted = 2.0 * (arrows_to_tell(ratio) - 1)
    mean, half = (before.degrees + after.degrees) / 2, (before.degrees - after.degrees) / 2
    level = wanted / 2 + sqrt(wanted**2 / 4 + half**2)
    return max(0, ceil((level - mean) / 2))


def _called_bad(visits: Sequence[Visit], head: HeadKind) -> int:
    return sum(i.called_bad for v in visits for i in select(v.impacts, bare=False, head=head))


def _hits(before: Sequence[Visit], after: Sequence[Visit], radius: float, head: HeadKind) -> Hits:
    counts = []
    for visits in (before, after):
        arrows = [i for v in visits for i in select(v.impacts, bare=False, head=head)]
        counts.append((sum(i.y**2 + i.z**2 <= radius**2 for i in arrows), len(arrows)))
    (hit_b, of_b), (hit_a, of_a) = counts
    better = laws.beta_better((hit_a + 1, of_a - hit_a + 1), (hit_b + 1, of_b - hit_b + 1))
    return Hits(hit_b, of_b, hit_a, of_a, better)


def _say(found: Comparison) -> tuple[str, ...]:
    way = "tighter" if found.ratio < 1 else "wider"
    change = abs(1 - found.ratio)
    said = [
        f"The fletched groups scatter {100 * change:.0f} % {way} after than before; "
        f"with 80 % chance the true ratio lies between {found.low:.2f} and {found.high:.2f}."
    ]
    if found.low < 1 < found.high:
        said.append(
            "That is within what the same arrows could do by chance. To tell a change of a fifth, shoot about "
            f"{found.more_for_fifth} more of each; of a tenth, about {found.more_for_tenth} more of each."
        )
    else:
        chance = found.chance_better if found.ratio < 1 else 1 - found.chance_better
        said.append(f"The chance that they are truly {way} is {100 * min(chance, 0.999):.1f} %.")
    if found.hits is not None:
        h = found.hits
        said.append(
            f"Hits: {h.before} of {h.before_of} before, {h.after} of {h.after_of} after; "
            f"the chance that hits became more frequent is {100 * h.chance_better:.0f} %."
        )
    if any(found.called_bad):
        said.append(f"Called bad and left out: {found.called_bad[0]} before, {found.called_bad[1]} after.")
    if not found.mixed:
        said.append("Before and after were not shot in turns, so the day, the light and the archer are in this too.")
    if not found.blind:
        said.append("The archer knew which arrows were which; mixed and unseen, the proof would be stronger.")
    return tuple(said)
