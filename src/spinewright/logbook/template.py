"""The commented session file that a new session starts with, for a person to fill in by hand."""

from __future__ import annotations

from enum import StrEnum

from spinewright.logbook.keys import ROOT, Form, Key
from spinewright.logbook.session import FORMAT
from spinewright.units import Hand, System

__all__ = ["template"]

_HEAD = """\
# A tuning session: one bow, one archer, one set of arrows. Fill in what is marked 'needed' and what you know of the
# rest; a blank "" means not known. Quantities carry their unit: "29 1/2 in", "749 mm", "1/64 in", "110 gr", "7.1 g",
# "61 lb", "283 ft/s", "20 yd", "18 m", "2 deg". Decimals with a point.
#
# Left and right always mean: seen from behind the bow at full draw, for either hand. A hole is where the POINT went in;
# a tail or a leaning nock is where the NOCK end is.
#
# BEFORE ANYTHING ELSE
# - The bow maker's limits, range rules and your own good sense stand above this program. Press work: a technician.
# - Never a broadhead on an unfletched shaft. Bare shafts only with a backstop that forgives a wide miss.
# - Never look along a drawn bow yourself: a helper makes the shortest-safe-length mark while you face a backstop.
# - Carbon: flex and look at a shaft after every hard or sideways hit. Whole, fully seated nocks only.
# - At the saw: dust mask and eye protection.
# - Never an arrow lighter than the maker's figure or 5 gr per lb of measured peak weight, nor one too weak for the bow.
"""

_EVENTS = """\

# --------------------------------------------------------------------------------------------------------------------
# What was done and seen, in order; nothing is ever taken out ('undo' makes an earlier event no longer count). Every
# kind and its keys are in docs/session-file.md; 'spinewright log' writes them for you. By hand they look like this:
#
# [[event]]
# kind = "shots"
# when = 2026-05-03T10:15:00
# distance = "20 yd"
# target = "fresh foam"
# hits = [
#   { shaft = 1, state = "fletched", hole = "left 0.4 in, high 0.2 in" },
#   { shaft = 5, state = "bare", hole = "left 1.9 in, high 0.6 in", nock_leans = "right 2 deg" },
# ]
"""

_SKIPPED = ("format", "event", "limits")
_LIST_EXAMPLES = {
    "draw_readings": ("draw", "force"),
    "chronograph": ("arrow", "speed"),
    "shafts": ("spine", "spine_test", "weight", "outer_diameter", "inner_diameter"),
}


def template(hand: Hand = Hand.RIGHT, system: System = System.INCH, *, filled: bool = False) -> str:
    """The text of a new session file; with ``filled`` every needed blank carries its (invented) example."""
    lines = [_HEAD, f"format = {FORMAT}"]
    first = {"scope.hand": f'"{hand}"', "scope.units": f'"{system}"'}
    for key in ROOT:
        if key.name not in _SKIPPED:
            lines += _section(key, key.name, first, filled=filled)
    lines += [
        "",
        "# Limits of a round or of hunting law that YOU looked up, with the day; kept and shown, never judged.",
        "# [[limits]]",
        *(f"# {key.name} = {key.example}" for key in next(key.keys for key in ROOT if key.name == "limits")),
    ]
    return "\n".join(lines) + "\n" + _EVENTS


def _section(key: Key, path: str, first: dict[str, str], *, filled: bool) -> list[str]:
    lines = ["", f"[{path}]  # {key.what}"]
    simple = [one for one in key.keys if one.form not in (Form.TABLE, Form.TABLES)]
    wanted = filled and key.needed
    for one in simple:
        lines.append(_line(one, first.get(path + "." + one.name, ""), needed=key.needed, filled=wanted))
    for one in key.keys:
        if one.form is Form.TABLES and one.name in _LIST_EXAMPLES:
            names = _LIST_EXAMPLES[one.name]
            pairs = ", ".join(f"{sub.name} = {sub.example}" for sub in one.keys if sub.name in names)
            lines += [f"# {one.name} = [  # {one.what}", f"#   {{ {pairs} }},", "# ]"]
    for one in key.keys:
        if one.form is Form.TABLE:
            lines += _section(one, f"{path}.{one.name}", first, filled=filled)
    return lines


def _line(key: Key, value: str, *, needed: bool, filled: bool) -> str:
    mark = ("needed; " if needed else "needed if there is one; ") if key.needed else ""
    words = _words(key.form)
    options = "; one of " + ", ".join(f'"{word}"' for word in words) if words else ""
    note = f"# {mark}{key.what}{options}"
    if not value and filled and (key.needed or key.name == "level"):
        value = key.example
    if value:
        return f"{key.name} = {value}  {note}"
    if key.form in (Form.WHOLE, Form.NUMBER, Form.DATE, Form.YES_NO, Form.MASSES):
        blank = f"# {key.name} = {key.example}" if not key.needed else f'{key.name} = ""'
        return f"{blank}  {note}"
    example = "" if words else f", e.g. {key.example}"
    return f'{key.name} = ""  {note}{example}'


def _words(form: object) -> list[str]:
    return [str(word) for word in form] if isinstance(form, type) and issubclass(form, StrEnum) else []
