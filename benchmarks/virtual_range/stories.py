"""The worst worlds of the adviser told as stories: what it believed, what was true, and why it was wrong."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from benchmarks.virtual_range.playing import ADVISER, HAND
from benchmarks.virtual_range.world import WorldKind

__all__ = ["stories", "why_wrong", "worst"]

Record = dict[str, Any]


def worst(records: Sequence[Record], count: int = 10) -> list[Record]:
    """The worlds in which the adviser did the most harm: a spoilt shaft, a false 'tuned', then the gap that is left."""
    return sorted(records, key=lambda r: (-_harm(r), r["seed"]))[:count]


def _harm(record: Record) -> float:
    score = record["scores"][ADVISER]
    wide = record["kind"] == WorldKind.WIDE.name
    harm = 0.0 if wide else float(score["gap"])
    harm += 8.0 * score["too_short"] + 3.0 * (score["said"] == "tuned" and score["gap"] > 1.5)
    return float(harm + 8.0 * (wide and score["arrow_changed"]))


def stories(records: Sequence[Record], count: int = 10) -> str:
    """The worst worlds as sections."""
    return "\n\n".join(_story(k + 1, r) for k, r in enumerate(worst(records, count)))


def _story(number: int, record: Record) -> str:
    ours, hand = record["scores"][ADVISER], record["scores"][HAND]
    hidden = record["hidden"]
    lines = [
        f"### {number}. World {record['seed']}: {WorldKind[record['kind']].value}",
        f"True and hidden: the arrow {abs(hidden['too_weak']):.1f} in too "
        f"{'long' if hidden['too_weak'] > 0 else 'short'}; "
        f"an inch off moves the bare holes {hidden['length'][0]:+.1f} in sideways (left +) and "
        f"{hidden['length'][1]:+.1f} in in height; a millimetre of rest {hidden['rest'][0]:+.1f} and "
        f"{hidden['rest'][1]:+.1f} in; {hidden['rest_kind']} rest; scatter {record['scatter']:.2f} in, "
        f"stated {hidden['stated_scatter']:.2f} in.{_faults(hidden)}",
        f"The adviser ended after {ours['arrows']} arrows and {ours['cuts']} cuts saying '{ours['said']}', with "
        f"a true gap of {ours['gap']:.1f} in (start {ours['start_gap']:.1f}). The hand rule: {hand['arrows']} arrows, "
        f"{hand['cuts']} cuts, '{hand['said']}', {hand['gap']:.1f} in.",
        *_course(ours["steps"]),
        f"Why: {why_wrong(record)}",
    ]
    return "\n\n".join(lines)


def _faults(hidden: dict[str, Any]) -> str:
    said = []
    if hidden["contact"]:
        said.append("a vane touched" + ("" if hidden["contact_seen"] else " and powder missed it"))
    if hidden["bow_wrong"]:
        said.append(f"{hidden['bow_wrong'].replace('_', ' ')} was wrong at first")
    if hidden["lean_swapped"]:
        said.append("leans were written the wrong way round")
    if hidden["target_turns"]:
        said.append("the target turned every shaft")
    return f" Also: {'; '.join(said)}." if said else ""


def _course(steps: Sequence[dict[str, Any]], most: int = 9) -> list[str]:
    """The changes and the end, each with what was believed and what was true."""
    told = [s for s in steps if s["act"] in ("change", "stop")]
    lines = [_line(s) for s in told[:most]]
    if len(told) > most:
        lines.append(f"- ... and {len(told) - most} more.")
    return ["\n".join(lines)] if lines else []


def _line(step: dict[str, Any]) -> str:
    believed, true = step.get("believed"), step["true"]
    text = f"- {step['why'] if step['act'] == 'change' else 'stopped: ' + step['why']}"
    if believed:
        text += (
            f"; believed the gap ({believed[0]:+.1f}, {believed[1]:+.1f}) in, it was ({true[0]:+.1f}, {true[1]:+.1f})"
        )
        text += f"; {100 * step['weak']:.0f} % weak; main cause '{step['cause']}'"
    if step["to"] is not None:
        text += f"; to {_setup(step['to'])}"
    if "forecast" in step:
        low, high = step["forecast"]
        text += f", foretold {low[0]:+.1f} to {high[0]:+.1f} and {low[1]:+.1f} to {high[1]:+.1f}"
    return text + "."


def _setup(words: dict[str, float]) -> str:
    names = {
        "cut": "{:.2f} in off",
        "point": "point {:+.0f} gr",
        "spine": "another shaft, spine {:+.3f} in",
        "bolts": "bolts {:+.1f} turns",
        "rest_y": "rest {:+.3f} in left",
        "rest_z": "rest {:+.3f} in up",
        "nock_z": "nock point {:+.3f} in up",
        "turned": "nock turned {:.0f} degrees",
    }
    return ", ".join(names[k].format(v) for k, v in words.items()) or "the start"


def why_wrong(record: Record) -> str:
    """The plainest reasons that the record itself shows, in a fixed order; judged by rule, not by eye."""
    score, hidden = record["scores"][ADVISER], record["hidden"]
    held = [bit for row in score["covers"] for bit in row[1:]]
    found = []
    if hidden["contact"] and not hidden["contact_seen"]:
        found.append("a touching vane that powder had not shown was taken for spine or rest")
    if hidden["length"][0] < -0.2:
        found.append("length answers the other way here")
    if hidden["rest"][0] > 0.3 or hidden["rest"][1] < -0.3:  # less than that is no answer, not the other way
        found.append("the rest answers the other way here")
    if hidden["lean_swapped"] or hidden["target_turns"]:
        found.append("the leans misled")
    if held and sum(held) < 0.6 * len(held):
        found.append(f"its intervals were too narrow ({sum(held)} of {len(held)} held)")
    if score["said"] == "tuned" and score["gap"] > 1.0:
        found.append("the shots pooled at the end happened to lie nearer than the truth")
    if score["said"] in ("no better", "out of reach", "hidden travel"):
        found.append("it saw no allowed move worth its cost and stopped with the gap open")
    if score["said"] == "gave up":
        found.append("it ran out of arrows for the day")
    if record["kind"] == WorldKind.WIDE.name and score["arrow_changed"]:
        found.append("a lucky first group looked better than the archer is")
    return ("; ".join(found) or "nothing single: the gap was large and the moves within reach small") + "."
