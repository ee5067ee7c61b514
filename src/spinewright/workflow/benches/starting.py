"""An empty start: three questions, usual values for the rest, the invented bench, and a bench from a session file."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from spinewright import logbook
from spinewright.errors import Place, SessionFileError
from spinewright.logbook.head import KEYS, head_text, needed_keys
from spinewright.logbook.keys import Form
from spinewright.units import Hand, Kind, System
from spinewright.workflow.benches.examples import example_in, usual_in
from spinewright.workflow.benches.head_fields import field_json
from spinewright.workflow.benches.invented import AT_WORK, invented_session
from spinewright.workflow.benches.kept import Kept
from spinewright.workflow.benches.room import Benches
from spinewright.workflow.showing import Json

__all__ = ["bring_along", "make_bench", "quick_values", "start_json"]

_ASK = ("scope.hand", "scope.release", "bow.name", "bow.peak_weight", "bow.draw_length", "shaft.spine", "scope.purpose")
_NOT_YET = (
    "Only a compound bow shot with a release aid is supported; fingers and other bows need evidence nobody has put in.",
)
#: Usual values of a compound bow and its arrow (common practice, from memory); each stands only until it is measured.
_USUAL: Mapping[str, str] = {
    "archer.level": "steady",
    "bow.peak_weight": "60 lb",
    "bow.let_off": "80 %",
    "bow.draw_length": "29 in",
    "bow.brace_height": "6 1/2 in",
    "bow.axle_to_axle": "33 in",
    "bow.rest.kind": "drop-away",
    "shaft.spine": "340",
    "shaft.spine_test": "current",
    "shaft.weight": "8.5 gr/in",
    "shaft.outer_diameter": "0.244 in",
    "shaft.inner_diameter": "0.204 in",
    "arrow.throat_length": "29 1/2 in",
    "arrow.carbon_length": "28 7/8 in",
    "arrow.nock.mass": "9 gr",
    "arrow.vanes.count": "3",
    "arrow.vanes.mass": "6 gr",
    "arrow.vanes.length": "2 in",
    "arrow.vanes.height": "0.46 in",
    "arrow.point.mass": "100 gr",
    "owned.points": "100 gr",
}
_SCOPE: Mapping[str, str] = {
    "scope.hand": "right",
    "scope.release": "release aid",
    "scope.bow": "compound",
    "scope.purpose": "target",
}


def start_json(system: System = System.INCH) -> Json:
    """What is asked at an empty start, and what nobody has to answer yet."""
    return {
        "hands": [str(hand) for hand in Hand],
        "releases": ["release aid"],
        "not_yet": list(_NOT_YET),
        "ask": [field_json(KEYS[key], key, _SCOPE.get(key), needed=key == "scope.hand", system=system) for key in _ASK],
    }


def quick_values(given: Mapping[str, object], system: System) -> tuple[dict[str, object], tuple[str, ...]]:
    """All values a session needs with what was ``given``, and the keys where a usual one stands in."""
    said = {key: value for key, value in given.items() if str(value).strip()}
    usual = {key: _written(key, value, system) for key, value in _USUAL.items() if key not in said}
    if any(key.startswith(("archer.group", "archer.score")) for key in said):
        usual.pop("archer.level", None)
    assumed = tuple(key for key in KEYS if key in usual and key != "owned.points")
    return {**_SCOPE, "scope.units": str(system), **usual, **said}, assumed


def _written(key: str, text: str, system: System) -> str:
    """A usual value as whoever measures in ``system`` writes it."""
    form = KEYS[key].form
    return usual_in(Kind.MASS if form is Form.MASSES else form, text, system)


def make_bench(benches: Benches, bench: str, body: object, system: System) -> Kept:
    """A new bench as ``body`` asks for it (docs/page.md). Raises InputError, Taken."""
    if not isinstance(body, Mapping):
        raise SessionFileError("nothing says what the bench is made from", "send 'from'", Place(field="from"))
    values = body.get("values") or {}
    if not isinstance(values, Mapping):
        raise SessionFileError("'values' is not an object", "send dotted keys with texts", Place(field="values"))
    source = body.get("from")
    if source == "quick":
        full, assumed = quick_values(values, _system(body.get("units"), system))
        return benches.make(bench, head_text(full), _name(full), assumed=assumed)
    if source == "setup":
        full = {"scope.bow": "compound", "scope.units": str(_system(body.get("units"), system)), **values}
        missing = [key for key in needed_keys() if not str(full.get(key, "")).strip()]
        if missing:
            first = KEYS[missing[0]]
            example = example_in(first.form, first.example.replace('"', ""), _system(full["scope.units"], system))
            right = f"fill it in, for example '{example}'"
            raise SessionFileError(f"{first.what} is missing", right, Place(field=missing[0]))
        return benches.make(bench, head_text(full), _name(full))
    if source == "demo":
        return benches.make(bench, invented_session(AT_WORK), "Invented bench", invented=True)
    if source == "story":
        return benches.make(bench, invented_session(), "Invented bench", invented=True)
    if source == "file":
        return _from_file(benches, bench, body)
    right = "send quick, setup, demo, story or file"
    raise SessionFileError(f"{source!r} is nothing a bench is made from", right, Place(field="from"))


def bring_along(benches: Benches, path: Path) -> Kept:
    """The session file at ``path`` as a bench of its own; the same file again is the same bench. Raises InputError."""
    logbook.read(path)
    text = path.read_text(encoding="utf-8")
    bench = "f" + hashlib.sha256(f"{path.resolve()}\n{text}".encode()).hexdigest()[:12]
    return _from_file(benches, bench, {"text": text, "name": path.name})


def _from_file(benches: Benches, bench: str, body: Mapping[Any, Any]) -> Kept:
    text, name = body.get("text"), body.get("name")
    if not isinstance(text, str):
        raise SessionFileError("the file's text is missing", "choose a session file", Place(field="text"))
    file = name if isinstance(name, str) and name else "the file"
    session = logbook.parse(text, file)
    called = session.start.bow.name or file.removesuffix(".toml")
    # whoever writes such a file says it in its first line, as the demo does
    invented = text.lstrip("\ufeff").startswith("# INVENTED")
    return benches.make(bench, text, called, invented=invented)


def _system(given: object, usual: System) -> System:
    return System(given) if given in [str(one) for one in System] else usual


def _name(values: Mapping[str, object]) -> str:
    return str(values.get("bow.name") or "").strip() or "My bow"
