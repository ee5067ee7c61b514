"""Reads what a person writes on one line into the keys of an event: a hit, a nock reading, a draw reading, a part."""

from __future__ import annotations

import re
from collections.abc import Mapping

from spinewright.errors import EvidenceError, Place
from spinewright.logbook import Key

__all__ = ["checked_items", "draw_reading", "hit", "nock_reading", "part"]

_SHAFT = re.compile(r"\s*(?:shaft\s+)?(\d{1,6})\s*:\s*(.+)", re.IGNORECASE | re.DOTALL)
_PLAIN_NUMBER = re.compile(r"-?\d{1,15}(?:\.\d{1,30})?")  # longer ones stay text, which the reader refuses
_HIT_EXAMPLE = "write for example '7: left 2.1 in, high 0.6 in; nock right 2 deg'"


def hit(text: str, state: str, field: str) -> dict[str, object]:
    """One arrow in the target, such as '7: left 2.1 in, high 0.6 in; nock right 2 deg; bad'.

    ``state`` is 'bare' or 'fletched'; ``field`` is what the error calls the place. The hole comes first; after a
    semicolon may follow where the nock leans, 'bad' for a shot called bad before looking, and 'head' with its kind.
    Raises :class:`~spinewright.errors.EvidenceError`; sizes and sides are checked where the event is read.
    """
    match = _SHAFT.fullmatch(text)
    if match is None:
        raise EvidenceError(f"'{text}' does not begin with the number of the shaft", _HIT_EXAMPLE, Place(field=field))
    hole, *rest = (piece.strip() for piece in match[2].split(";"))
    found: dict[str, object] = {"shaft": int(match[1]), "state": state, "hole": hole}
    for piece in rest:
        name, value = _said_of_hit(piece, field)
        if name in found:
            raise EvidenceError(f"'{text}' says the same thing twice ('{piece}')", _HIT_EXAMPLE, Place(field=field))
        found[name] = value
    return found


def _said_of_hit(piece: str, field: str) -> tuple[str, object]:
    plain = " ".join(piece.lower().split())
    if plain in ("bad", "called bad"):
        return "bad", True
    for word, name in (("nock leans ", "nock_leans"), ("nock ", "nock_leans"), ("head ", "head")):
        if plain.startswith(word):
            return name, plain.removeprefix(word)
    raise EvidenceError(
        f"'{piece}' is neither where the nock leans, nor a head, nor 'bad'", _HIT_EXAMPLE, Place(field=field)
    )


def nock_reading(text: str, through: str, field: str) -> dict[str, object]:
    """One shot of a nock series, '20 deg: right 0.4 in': the TAIL through paper, the hole on a target."""
    angle, colon, place = text.partition(":")
    if not colon or not angle.strip() or not place.strip():
        raise EvidenceError(
            f"'{text}' is not a nock angle with what was seen",
            "write for example '20 deg: right 0.4 in'",
            Place(field=field),
        )
    return {"nock": angle.strip(), "tail" if through == "paper" else "hole": place.strip()}


def draw_reading(text: str, field: str) -> dict[str, object]:
    """One reading of the scale, '20 in: 61 lb'."""
    draw, colon, force = text.partition(":")
    if not colon or not draw.strip() or not force.strip():
        raise EvidenceError(
            f"'{text}' is not a draw with its force", "write for example '20 in: 61 lb'", Place(field=field)
        )
    return {"draw": draw.strip(), "force": force.strip()}


def part(text: str, keys: tuple[Key, ...], field: str) -> dict[str, object]:
    """A part in one line, 'mass 9 gr, length 0.9 in', for the ``keys`` it may have."""
    names = {key.name.replace("_", " "): key.name for key in keys}
    found: dict[str, object] = {}
    for piece in re.split(r"\s*[,;]\s*", text.strip()):
        words = max((name for name in names if piece.lower().startswith(name + " ")), key=len, default=None)
        if words is None or names[words] in found:
            raise EvidenceError(
                f"'{piece}' is not one of {', '.join(names)} with its value",
                "write for example 'mass 9 gr, length 0.9 in', each once",
                Place(field=field),
            )
        value = piece[len(words) :].strip()
        found[names[words]] = _plain(value)
    return found


def _plain(value: str) -> object:
    """A bare number as a number, so that 'count 3' counts; quantities carry their unit and stay text."""
    if not _PLAIN_NUMBER.fullmatch(value):
        return value
    return float(value) if "." in value else int(value)


def checked_items(
    known: Mapping[str, str], good: tuple[str, ...], wrong: tuple[str, ...], field: str, *, everything: bool = False
) -> dict[str, object]:
    """The items of a check, True = in order and False = wrong, from the words a person uses for them.

    ``known`` maps each item's words to its key; ``everything`` looked at and in order unless it is in ``wrong``.
    """
    found: dict[str, object] = dict.fromkeys(known.values(), True) if everything else {}
    for value, words in ((True, good), (False, wrong)):
        for word in words:
            plain = " ".join(word.lower().replace("-", " ").split())
            if plain not in known:
                raise EvidenceError(
                    f"'{word}' is not an item of the {field}", "known are " + ", ".join(known), Place(field=field)
                )
            if found.get(known[plain], value) is not value and not everything:
                raise EvidenceError(f"'{word}' is both in order and wrong", "say it once", Place(field=field))
            found[known[plain]] = value
    if not found:
        raise EvidenceError(
            f"the {field} does not say what was looked at", "name its items, or say that all are in order"
        )
    return found
