"""Tables, picture and sheet of broadheads against field points."""

from __future__ import annotations

from typing import TYPE_CHECKING

from spinewright.units import INCH, Kind, System, show, show_distance, show_offset
from spinewright.workflow.around import papers
from spinewright.workflow.around.account import Cell, Plot, Series, Table
from spinewright.workflow.around.heads_found import SHARES, Found
from spinewright.workflow.showing import Voice

if TYPE_CHECKING:
    from spinewright.equipment import Head
    from spinewright.outlook import Range
    from spinewright.outlook.heads import HeadEffect

__all__ = ["ALWAYS", "distance_words", "ends", "far", "groups", "length", "paper", "place", "plot", "sizes", "span"]

ALWAYS = (
    "Broadheads only on fletched arrows, never on a bare shaft.",
    "Broadheads into a backstop of their own that is made for them, with nobody near it; many ranges forbid them, "
    "and their rules come first.",
    "Blades cut: screw them on with a wrench that covers them, spin each arrow, and see at full draw, with a helper "
    "and facing the backstop, that the blades stand clear of hand, rest and riser.",
    "Flex and look at a carbon shaft after every hard or sideways hit.",
)
"""What to mind with broadheads, always."""


def length(value: float, voice: Voice) -> str:
    """A length no finer than holes are measured."""
    least = 0.1 * INCH if voice.system is System.INCH else 1e-3
    if value < 0.5 * least:
        return f"under {show(least, Kind.LENGTH, voice.system)}"
    return show(value, Kind.LENGTH, voice.system, digits=1 if voice.system is System.INCH else 0)


def place(y: float, z: float, voice: Voice) -> str:
    """A place in the words of the archer, no finer than holes are measured."""
    return show_offset(y, z, voice.hand, voice.system, digits=1 if voice.system is System.INCH else 0)


def span(value: Range, voice: Voice, *, height: bool = False) -> str:
    """'right 1.2 in (right 3.0 in to left 0.2 in)', left and right or low and high as the archer sees them."""
    middle, low, high = (
        place(0.0, v, voice) if height else place(v, 0.0, voice) for v in (value.middle, value.low, value.high)
    )
    return middle if low == high else f"{middle} ({low} to {high})"


def far(value: Range, voice: Voice) -> str:
    """How far, with what holds in four cases of five."""
    middle, low, high = (length(one, voice) for one in (value.middle, value.low, value.high))
    return middle if low == high else f"{middle} ({low} to {high})"


def distance_words(distance: float, voice: Voice) -> str:
    """A distance to the target in words."""
    return show_distance(distance, voice.system)


def _row(name: str, one: HeadEffect, voice: Voice) -> tuple[Cell, ...]:
    return (name, span(one.sideways, voice), span(one.height, voice, height=True), far(one.far, voice))


def sizes(found: Found, voice: Voice) -> Table:
    """This head and others of its shape, bow as it stands."""
    names = dict(zip(SHARES, ("this head", "blades half as large", "blades half again as large"), strict=True))
    area = found.effects.heads[0].head.blade_area
    near = {round(one.head.blade_area / area, 2): one for one in found.effects.heads}
    rows = tuple(_row(names[share], one, voice) for share, one in near.items())
    title = f"From the field point at {distance_words(found.effects.distance, voice)}, bow as it stands"
    return Table(title, ("head", "sideways", "height", "how far"), rows, "Same weight and length, same release.")


def ends(found: Found, voice: Voice) -> Table:
    """This head wherever the tune may end."""
    aim = place(*found.stiff_aim, voice)
    names = ("bare on fletched", f"slightly stiff: bare {aim}")
    rows = tuple(_row(name, one, voice) for name, one in zip(names, found.effects.if_the_gap, strict=True))
    note = "This head from the field point, if the tune ends with bare so from fletched at 20 yd."
    return Table("Wherever the tune ends", ("tune ends at", "sideways", "height", "how far"), rows, note)


def groups(found: Found, voice: Voice) -> Table:
    """What was logged with both heads; no rows where nothing was."""
    rows: list[tuple[Cell, ...]] = []
    for one in found.logged:
        test = one.gap.best
        chance = "" if test.p_value is None else ("under 1 %" if test.p_value < 0.01 else f"{100 * test.p_value:.0f} %")
        known = "" if test.ellipse is None else f"± {length(test.ellipse.major, voice)}"
        rows.append(
            (
                distance_words(one.gap.distance, voice),
                one.kind.value,
                f"{one.gap.bare.count} and {one.gap.fletched.count}",
                place(one.gap.y, one.gap.z, voice),
                known,
                chance,
                "as it stands" if one.now else "earlier",
            )
        )
    columns = ("distance", "head", "arrows", "from field points", "known to", "by scatter alone", "bow")
    note = "Arrows with the head and with field points. Known to: the circle or ellipse that holds the truth in 80 %."
    return Table("Logged groups", columns, tuple(rows), note)


def plot(found: Found, voice: Voice) -> Plot:
    """How far heads land from the field point over the size of their blades."""
    unit, size = ("in", INCH) if voice.system is System.INCH else ("mm", 0.001)
    blade, square = ("in2", INCH**2) if voice.system is System.INCH else ("cm2", 1e-4)
    order = sorted(found.effects.heads, key=lambda one: one.head.blade_area)
    area = tuple(one.head.blade_area / square for one in order)
    middle, low, high = (tuple(getattr(one.far, name) / size for one in order) for name in ("middle", "low", "high"))
    return Plot(
        "How far a head lands from the field point",
        f"side area of one blade ({blade})",
        f"how far at {distance_words(found.effects.distance, voice)} ({unit})",
        (Series("foretold, 80 %", area, middle, low, high),),
        "The larger the blades, the further the head lands from the field point of the same weight.",
    )


def paper(found: Found, head: Head, each: int, voice: Voice) -> papers.Paper:
    """A sheet for the line."""
    first = found.effects.heads[0]
    return papers.Paper(
        "heads",
        "Field points and broadheads",
        (
            *(papers.words(one, care=True) for one in ALWAYS),
            papers.facts(
                (
                    ("Distance", distance_words(found.effects.distance, voice)),
                    ("Weight of both", show(head.mass, Kind.MASS, voice.system)),
                    ("Foretold, sideways", span(first.sideways, voice)),
                    ("Foretold, height", span(first.height, voice, height=True)),
                )
            ),
            papers.words(
                "In turns, each head at an aiming spot of its own, measured from its own spot. Call a bad shot first."
            ),
            papers.blanks(("shaft", "head", "sideways", "height", "called bad"), 2 * each, 8.0),
        ),
    )
