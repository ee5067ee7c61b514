"""What takes long, from the text of a session file to an answer that can be kept; loads the solvers."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from types import MappingProxyType
from typing import Any

from spinewright.errors import InputError, Place
from spinewright.logbook import BenchState
from spinewright.units import System
from spinewright.workflow.around import register as around
from spinewright.workflow.benches.around_json import AROUND
from spinewright.workflow.open_bench import OpenBench, start_bench
from spinewright.workflow.showing import Json

__all__ = ["TASKS", "can_be_asked", "run_task", "usual_wishes"]

Progress = Callable[[float], None]
Wishes = Mapping[str, Any]


def run_task(what: str, text: str, wishes: Wishes, progress: Progress) -> Json:
    """The answer to ``what`` for the session in ``text``: one object in each system of units.

    ``progress`` is called with the share done. Raises InputError or SolveError.
    """
    bench, asked = start_bench(text, "this bench"), usual_wishes(what, wishes)
    if what.startswith(AROUND):
        return _around(what.removeprefix(AROUND), bench, asked, progress)
    return TASKS[what](bench, asked, progress)


def can_be_asked(what: str) -> bool:
    """Whether there is such long work."""
    return what in TASKS or (what.startswith(AROUND) and what.removeprefix(AROUND) in around.TASKS)


def usual_wishes(what: str, wishes: Wishes) -> dict[str, Any]:
    """``wishes`` with the usual ones for what was not wished. Raises InputError for one that is not known."""
    usual = {"given": {}} if what.startswith(AROUND) else _USUAL[what]
    for name in wishes:
        if name not in usual:
            known = f"known are {', '.join(usual) or 'none'}"
            raise InputError(f"'{name}' cannot be wished of '{what}'", known, Place(field=name))
    found = {**usual, **{name: value for name, value in wishes.items() if value is not None}}
    bows = found.get("bows")
    if bows is not None and (isinstance(bows, bool) or not isinstance(bows, int) or not 20 <= bows <= 5000):
        raise InputError(f"bows = {bows!r} cannot be", "a whole number from 20 to 5000", Place(field="bows"))
    for name, value in found.items():
        if not _fits(name, value, usual[name]):
            raise InputError(
                f"'{name}' is not what it should be", "see how it is asked for on the page", Place(field=name)
            )
    return found


def _fits(name: str, value: object, usual: object) -> bool:
    """Whether a wish has the form of the usual one; what it says is read where it is used."""
    if name == "given":
        return isinstance(value, Mapping) and all(_all_texts(lines) for lines in value.values())
    if name == "sizes":
        return isinstance(value, Mapping) and _all_texts(list(value.values()))
    if name == "best":
        return isinstance(value, Mapping) and all(_number(value.get(one)) for one in ("point", "length") if value)
    if name == "after":
        return isinstance(value, list) and all(isinstance(one, Mapping) for one in value)
    return isinstance(value, type(usual))


def _all_texts(values: object) -> bool:
    return isinstance(values, list) and all(isinstance(one, str) for one in values)


def _number(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)


def _around(name: str, bench: OpenBench, wishes: Wishes, progress: Progress) -> Json:
    """The account of a task around the tune in each system; what is heavy in it is remembered by the task itself."""
    from spinewright.workflow.around.running import run

    bodies: Json = {}
    for n, system in enumerate(System):

        def share(done: float, n: int = n) -> None:
            progress((n + done) / len(System))

        bodies[str(system)] = run(_in(bench.state, system), name, wishes["given"], share).to_json()
    return bodies


def _in(state: BenchState, system: System) -> BenchState:
    return replace(state, scope=replace(state.scope, system=system))


def _next(bench: OpenBench, wishes: Wishes, progress: Progress) -> Json:
    from spinewright.workflow.advising import explained, next_move, settings_for
    from spinewright.workflow.proof import proof_of
    from spinewright.workflow.read_back import last_seen

    found = next_move(bench, settings=settings_for(wishes["bows"]), progress=progress)
    bodies: Json = {}
    for system in System:
        told = _in(bench.state, system)
        words = explained(found.advice, found.situation, system)
        spoken = replace(found, state=told, explanation=words, seen=last_seen(told), proof=proof_of(told))
        bodies[str(system)] = spoken.to_json()
    return bodies


def _sheet(bench: OpenBench, _wishes: Wishes, progress: Progress) -> Json:
    from spinewright.workflow.build_sheet import sheet

    bodies: Json = {}
    for n, system in enumerate(System, 1):
        bodies[str(system)] = sheet(_in(bench.state, system)).to_json()
        progress(n / len(System))
    return bodies


def _map(bench: OpenBench, wishes: Wishes, progress: Progress) -> Json:
    from spinewright.workflow.benches.map_drawing import fine_map
    from spinewright.workflow.mapping import forgiveness_map, map_wishes

    asked = map_wishes(
        distance=wishes["distance"] or None,
        face=wishes["face"],
        bows=wishes["bows"],
        level=wishes["level"],
        sizes=wishes["sizes"],
    )
    found = forgiveness_map(bench, asked, progress=progress)
    bodies: Json = {}
    for system in System:
        spoken = replace(found, state=_in(bench.state, system))
        bodies[str(system)] = {**spoken.to_json(), "fine": fine_map(spoken)}
    return bodies


def _stroke(bench: OpenBench, wishes: Wishes, progress: Progress) -> Json:
    from spinewright.workflow.benches.stroke_drawing import stroke_cases

    return stroke_cases(bench, wishes, progress)


def _paths(bench: OpenBench, _wishes: Wishes, progress: Progress) -> Json:
    from spinewright.workflow.benches.path_drawing import paths_json

    return paths_json(bench, progress)


TASKS: Mapping[str, Callable[[OpenBench, Wishes, Progress], Json]] = MappingProxyType(
    {"next": _next, "sheet": _sheet, "map": _map, "stroke": _stroke, "paths": _paths}
)
"""What can be asked, by its name."""

_USUAL: Mapping[str, Mapping[str, Any]] = MappingProxyType(
    {
        "next": {"bows": 500},
        "sheet": {},
        "map": {"bows": 40, "distance": "", "face": "", "level": "", "sizes": {}},
        "stroke": {"which": "now", "after": [], "best": {}},
        "paths": {},
    }
)
