"""Sentences that say a quantity both ways, '29 1/2 in (749.3 mm)', turned so that the archer's own unit comes first.

What knows nothing of the archer says both, inches and pounds first; who knows the archer turns it.
"""

from __future__ import annotations

import re

from spinewright.units.kinds import TABLE, System

__all__ = ["own_first"]

_DIFFERENT = tuple(row for row in TABLE.values() if row.inch.label != row.metric.label)
_PAIRS = {(row.inch.label, row.metric.label) for row in _DIFFERENT} | {("ft", "m")}  # paper stands at so many feet
_EXAMPLES = {row.examples for row in _DIFFERENT}

_NUMBER = r"-?(?:\d+ )?\d+(?:[./]\d+)?"
_INCH, _METRIC = ("|".join(re.escape(pair[side]) for pair in sorted(_PAIRS)) for side in (0, 1))
_BOTH = re.compile(
    rf"(?<![\w'/.-])(?<!\d )(?P<own>(?:{_NUMBER}(?: (?:{_INCH}))? to )?{_NUMBER} (?P<inch>{_INCH}))"
    rf" \((?P<other>(?:{_NUMBER}(?: (?:{_METRIC}))? to )?{_NUMBER} (?P<metric>{_METRIC}))\)"
)
_EITHER = re.compile(r"'(?P<first>[^']+)' or '(?P<second>[^']+)'")


def own_first(text: str, system: System) -> str:
    """``text``, written with inches and pounds first, as whoever measures in ``system`` reads it.

    '29 1/2 in (749.3 mm)' and "write for example '29 1/2 in' or '749 mm'" are turned for metric archers; what both
    write in the same unit (draw weight, angles, static spine) stays as it is.
    """
    if system is System.INCH:
        return text
    return _EITHER.sub(_other_example, _BOTH.sub(_turned, text))


def _turned(found: re.Match[str]) -> str:
    if (found["inch"], found["metric"]) not in _PAIRS:
        return found[0]
    return f"{found['other']} ({found['own']})"


def _other_example(found: re.Match[str]) -> str:
    first, second = found["first"], found["second"]
    return f"'{second}' or '{first}'" if (first, second) in _EXAMPLES else found[0]
