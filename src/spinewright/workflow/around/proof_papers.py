"""The sheets of the proof: for the archer, for the helper alone, and for walk-back and torque."""

from __future__ import annotations

from spinewright.units import show_distance
from spinewright.workflow.around import papers
from spinewright.workflow.around.proof_read import Plan
from spinewright.workflow.showing import Voice

__all__ = ["sheets"]


def sheets(plan: Plan, voice: Voice) -> tuple[papers.Paper, ...]:
    """All sheets for one day of ``plan``."""
    return _archer(plan, voice), _helper(plan), _further(voice)


def _archer(plan: Plan, voice: Voice) -> papers.Paper:
    ends = 2 * plan.shot
    blocks = [
        papers.words("Stop when you tire or anything hurts; the other ends can be shot another day.", care=True),
        papers.facts(
            (
                ("Shoots", "the owner of the bow, nobody else"),
                ("Distance", show_distance(plan.distance, voice.system)),
                ("Today", f"{ends} ends of {plan.end} arrows, {ends * plan.end} in all"),
                ("Aim", "always at the same spot; call a bad shot before you look"),
            )
        ),
        papers.words(
            "Measure every hole from the spot. Do not look at the marks on the arrows, nor at the sealed order."
        ),
    ]
    for end in range(plan.first, plan.first + ends):
        blocks.append(papers.heading(f"End {end}"))
        blocks.append(papers.blanks(("sideways", "height", "called bad"), plan.end, 5.5))
    return papers.Paper("proof", "The proof: sheet for the archer", tuple(blocks))


def _helper(plan: Plan) -> papers.Paper:
    from spinewright.evidence.proving import label_of_after, mixed_order

    after = label_of_after(plan.seed)
    before = "B" if after == "A" else "A"
    last = plan.first + 2 * plan.shot - 1
    order = mixed_order(last, plan.seed)
    rows = [(str(k), after if order[k - 1] else before) for k in range(plan.first, last + 1)]
    return papers.Paper(
        "sealed",
        "Sealed order: for the helper alone",
        (
            papers.words(
                "Fold this sheet and keep it shut. The archer sees it when the last end is measured.", care=True
            ),
            papers.facts(
                (
                    ("Arrows or settings before the tune", f"mark {before}"),
                    ("Arrows or settings after the tune", f"mark {after}"),
                    ("Drawn from the number", str(plan.seed)),
                )
            ),
            papers.grid(("end", "hand over"), rows),
            papers.signature("The archer did not know the order until the last end was measured."),
        ),
    )


def _further(voice: Voice) -> papers.Paper:
    far = "20, 30, 40 and 50 yd" if voice.system.value == "inch" else "20, 30, 40 and 50 m"
    return papers.Paper(
        "walk-back",
        "Walk-back and torque",
        (
            papers.heading("Walk-back"),
            papers.words(
                "One sight setting, the one for 20. An aiming spot near the top of a tall backstop with a plumb line "
                f"through it. Two shots each from {far}; measure sideways from the line."
            ),
            papers.blanks(("distance", "sideways", "height", "before or after"), 8, 7.0),
            papers.heading("Torque"),
            papers.words(
                "Six shots from one distance in turns: the hand turned a little to the left on purpose, then as "
                "little to the right. Small and gentle, never so far that the string could leave a cam.",
                care=True,
            ),
            papers.blanks(("turned", "sideways", "height", "before or after"), 6, 7.0),
        ),
    )
