"""Tables, picture and sheet of proving a tune further back."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from spinewright.units import YARD, Kind, System, show, show_distance, show_offset
from spinewright.workflow.around import papers
from spinewright.workflow.around.account import Cell, Plot, Series, Table
from spinewright.workflow.around.further_found import Found, Wish, settle
from spinewright.workflow.showing import Voice

if TYPE_CHECKING:
    from spinewright.belief import Forecast

_Band = tuple[tuple[float, ...], tuple[float, ...], tuple[float, ...]]

__all__ = ["far", "length", "paper", "percent", "place", "plot", "seen", "shots", "table"]


def length(value: float, voice: Voice) -> str:
    """A length no finer than holes are measured."""
    return show(value, Kind.LENGTH, voice.system, digits=1 if voice.system is System.INCH else 0)


def place(y: float, z: float, voice: Voice) -> str:
    """A place in the words of the archer, no finer than holes are measured."""
    return show_offset(y, z, voice.hand, voice.system, digits=1 if voice.system is System.INCH else 0)


def far(distance: float, voice: Voice) -> str:
    """A distance to the target in words."""
    return show_distance(distance, voice.system)


def table(found: Found, wish: Wish, voice: Voice) -> Table:
    """What a tuned bow shows at each distance."""
    rows: list[tuple[Cell, ...]] = []
    for k, one in enumerate(found.tuned):
        height = " to ".join(place(0.0, one.middle[1] + sign * one.still[1], voice) for sign in (-1.0, 1.0))
        yours = () if found.forecast is None else (_foretold(found.forecast[k], voice),)
        rows.append(
            (
                far(one.distance, voice),
                f"within {length(one.radius, voice)}",
                f"{_sideways(one.middle[0] - one.still[0], voice)} to {_sideways(one.middle[0] + one.still[0], voice)}",
                height,
                *yours,
            )
        )
    told = "" if found.forecast is None else " Foretold is what everything logged says of the bow as it stands."
    note = (
        f"Bare from fletched, in four cases of five. Tuned: no more than {length(wish.near, voice)} off at 20 yd. The "
        f"holes scatter beside that.{told}"
    )
    columns: tuple[str, ...] = ("distance", "best to hope for", "sideways if tuned", "height if tuned")
    if found.forecast is not None:
        columns = (*columns, "foretold for yours, sideways")
    return Table("Bare from fletched if it is tuned", columns, tuple(rows), note)


def _sideways(y: float, voice: Voice) -> str:
    return place(y, 0.0, voice)


def _foretold(forecast: Forecast, voice: Voice) -> str:
    low, middle, high = (_sideways(one[0], voice) for one in (forecast.low, forecast.middle, forecast.high))
    return f"{middle} ({low} to {high})"


def shots(found: Found, wish: Wish, voice: Voice) -> Table:
    """How many shots settle it at each distance."""
    rows: list[tuple[Cell, ...]] = []
    for one in found.tuned:
        few, middle, many = (settle(one, scatter) for scatter in found.scatter)
        sd = one.distance * found.scatter[1] * ((1 + 1.3**2) / wish.each) ** 0.5
        shown = show(1.2816 * sd, Kind.LENGTH, voice.system, digits=1 if voice.system is System.INCH else 0)
        rows.append((far(one.distance, voice), _counted(middle, few, many), f"± {shown}"))
    columns = ("distance", "of each to settle it", f"what {wish.each} of each know it to")
    note = "In brackets for a steadier and for a less steady day of yours. 'Each' is bare and fletched, at one walk."
    return Table("How many shots", columns, tuple(rows), note)


def _counted(middle: int | None, few: int | None, many: int | None) -> str:
    if middle is None:
        return "cannot be settled"
    most = "no number" if many is None else str(many)
    return f"{middle} ({few} to {most})"


def seen(found: Found, voice: Voice) -> Table:
    """What was logged further back; no rows where nothing was."""
    rows: tuple[tuple[Cell, ...], ...] = tuple(
        (
            far(one.distance, voice),
            place(*one.seen, voice),
            f"± {length(1.2816 * one.sd, voice)}",
            percent(one.chance),
        )
        for one in found.walked
    )
    columns = ("distance", "bare from fletched", "known to", "a tuned bow shows as much in")
    return Table("What you logged further back", columns, rows, "Walks with the bow as it stands.")


def plot(found: Found, voice: Voice) -> Plot:
    """The room sideways for a tuned bow, with what was logged."""
    unit, size = ("in", 0.0254) if voice.system is System.INCH else ("mm", 0.001)
    step, ground = ("yd", YARD) if voice.system is System.INCH else ("m", 1.0)
    far = tuple(one.distance / ground for one in found.tuned)
    zero = tuple(0.0 for _ in far)
    way = voice.hand.sideways_sign
    series = [
        Series(
            "if tuned",
            far,
            *_band([one.middle[0] * way for one in found.tuned], [o.still[0] for o in found.tuned], size),
        ),
        Series("best to hope for", far, zero, *_edges([one.best for one in found.tuned], size)),
    ]
    if found.walked:
        at, seen = zip(*((one.distance / ground, one.seen[0] * way / size) for one in found.walked), strict=True)
        known = [1.2816 * one.sd / size for one in found.walked]
        low, high = (tuple(y + s * k for y, k in zip(seen, known, strict=True)) for s in (-1, 1))
        series.append(Series("logged", at, seen, low, high, line=False))
    return Plot(
        "How far to the side bare may lie",
        f"distance ({step})",
        f"bare left of fletched, right below 0 ({unit})",
        tuple(series),
        "The room for a tuned bow widens with the distance, faster than the distance does.",
    )


def _band(middle: Sequence[float], half: Sequence[float], size: float) -> _Band:
    pairs = list(zip(middle, half, strict=True))
    return (
        tuple(m / size for m, _ in pairs),
        tuple((m - h) / size for m, h in pairs),
        tuple((m + h) / size for m, h in pairs),
    )


def _edges(half: Sequence[float], size: float) -> tuple[tuple[float, ...], tuple[float, ...]]:
    return tuple(-h / size for h in half), tuple(h / size for h in half)


def paper(found: Found, wish: Wish, voice: Voice) -> papers.Paper:
    """A sheet for the line."""
    rows = [
        (
            far(one.distance, voice),
            f"± {length(one.still[0], voice)}",
            length(one.radius, voice),
            _counted(settle(one, found.scatter[1]), settle(one, found.scatter[0]), settle(one, found.scatter[2])),
        )
        for one in found.tuned
    ]
    return papers.Paper(
        "further",
        "Bare against fletched, further back",
        (
            papers.words(
                "Backstop wide enough for a bare shaft that goes astray. Ten yards at a time. Field points only on "
                "bare shafts.",
                care=True,
            ),
            papers.grid(("distance", "sideways if tuned", "best to hope for", "of each to settle it"), rows),
            papers.heading("Holes from the aiming spot"),
            papers.blanks(("distance", "shaft", "bare or fletched", "sideways", "height"), 4 * wish.each, 7.0),
        ),
    )


def percent(chance: float) -> str:
    """A chance in words."""
    return "fewer than 1 %" if chance < 0.01 else f"{100 * chance:.0f} %"
