"""The cut card: a strip true to scale to lay along the shaft, the steps, and room to write what was seen."""

from __future__ import annotations

from typing import TYPE_CHECKING

from spinewright.units import Kind
from spinewright.workflow.around import papers
from spinewright.workflow.around.cut_words import length_of
from spinewright.workflow.showing import Json, Voice

if TYPE_CHECKING:
    from spinewright.outlook.cutting import CutPlan

__all__ = ["card_of"]

_LONGEST, _BELOW = 150.0, 12.0  # mm of strip that fit on the sheet beside the rest, and of it under the last mark


def card_of(plan: CutPlan, voice: Voice, cautions: tuple[str, ...]) -> papers.Paper:
    """The card of the cuts that are planned. Of an arrow that is not to be cut it has none."""
    cuts = () if plan.verdict in ("stiff", "other") else plan.cuts
    shortest = "Shortest safe, marked at full draw" if plan.marked else "Shortest as computed; mark it at full draw"
    rows = [("Now, end to end", length_of(plan.length, voice)), (shortest, length_of(plan.shortest, voice))]
    throat = plan.shortest + plan.now.setup.build.carbon_start
    rows.append(("That is, nock throat to front end", length_of(throat, voice)))
    rows.append(("First test length", length_of(plan.test, voice)))
    fits = plan.fits
    rows.append(("Should fit at", str(voice.interval(fits.middle, fits.low, fits.high, Kind.LENGTH)["text"])))
    blocks: list[Json] = [
        papers.facts(rows),
        *(papers.words(one, care=True) for one in cautions),
        papers.checkline(),
        *_strip(plan, voice, [one.setup.build.carbon_length for one in cuts]),
        papers.heading("Cut, shoot, write down, and only then cut again"),
        papers.blanks(("date", "cut to", "bare from fletched", "nock at its best angle", "flexed and whole"), 5),
    ]
    return papers.Paper(
        "cut-card", "Cut card", tuple(blocks), "Only the nock end is cut. Measure twice, from end to end."
    )


def _strip(plan: CutPlan, voice: Voice, lengths: list[float]) -> list[Json]:
    """Marks in mm from the rear end of the shaft as it is now; the shortest safe length is the last."""
    end = 1e3 * (plan.length - plan.shortest)
    marks = [
        (1e3 * (plan.length - length), f"cut {k}: {length_of(length, voice)} stays", True)
        for k, length in enumerate(lengths, 1)
    ]
    if not marks:
        return [papers.words("No cut is planned, so there is no strip to lay along the shaft.")]
    shown = [mark for mark in marks if mark[0] <= _LONGEST - _BELOW]
    if not shown:
        return [papers.words("The first cut is further from the end than this sheet is long: measure it with a rule.")]
    stop = "STOP" if plan.marked else "STOP (computed)"
    bottom = shown[-1][0]
    if end <= _LONGEST - _BELOW:
        # A last cut right at the shortest length shares its mark, so that the two labels do not stand on each other.
        if end - bottom < 4.0:
            at, label, long = shown.pop()
            shown.append((at, f"{label}. {stop}", long))
        else:
            shown.append((end, stop, True))
        bottom = max(bottom, end)
    return [
        papers.words(
            "Check the line above with a ruler and cut the strip out along its frame. Take the nock out, lay the top "
            "edge flush with the rear end of the shaft as it is now, and mark the first cut. After each cut measure "
            "what stays."
        ),
        papers.strip(shown, bottom + _BELOW, 100.0, "Top edge: rear end of the shaft, nock out"),
    ]
