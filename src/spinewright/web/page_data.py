"""What each page of a bench is about, by the page's name."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from types import MappingProxyType

from spinewright.equipment import FACES
from spinewright.web.desk import Desk
from spinewright.workflow.benches.answers import last_answer
from spinewright.workflow.benches.around_json import AROUND, around_json, task_json
from spinewright.workflow.benches.bench_json import bench_json
from spinewright.workflow.benches.checks import checks_json
from spinewright.workflow.benches.map_fields import mistakes_json
from spinewright.workflow.benches.meaning import meaning_json, moves_json
from spinewright.workflow.benches.setting_up import setup_values_json
from spinewright.workflow.benches.shooting import line_json, nock_json, paper_json
from spinewright.workflow.benches.story import story_json
from spinewright.workflow.benches.view import View
from spinewright.workflow.showing import Json

__all__ = ["DATA", "around_task", "bench_of", "story_of"]

_DIGITS = 10  # more than any entry's number has


def bench_of(desk: Desk, view: View) -> Json:
    """The bench object."""
    return bench_json(desk.benches, view)


def _meaning(desk: Desk, view: View) -> Json:
    bench = view.kept.row.id
    return {
        "bench": bench_of(desk, view),
        **meaning_json(desk.benches, view),
        "job": desk.job_json(bench, "next"),
    }


def _moves(desk: Desk, view: View) -> Json:
    return {**moves_json(desk.benches, view), "job": desk.job_json(view.kept.row.id, "next")}


def _computed(desk: Desk, view: View, what: str) -> Json:
    found = last_answer(desk.benches, view.kept, what)
    return {
        "answer": None if found is None else found.body[str(view.voice.system)],
        "wishes": None if found is None else found.wishes,
        "fresh": found is not None and found.fresh,
        "job": desk.job_json(view.kept.row.id, what),
    }


def _seeing(desk: Desk, view: View) -> Json:
    return {
        "bench": bench_of(desk, view),
        "stroke": _computed(desk, view, "stroke"),
        "paths": _computed(desk, view, "paths"),
    }


def around_task(desk: Desk, view: View, name: str) -> Json:
    """One task around the tune."""
    job = desk.job_json(view.kept.row.id, AROUND + name)
    return {**task_json(desk.benches, view, name), "job": job}


def story_of(desk: Desk, view: View, upto: str = "") -> Json:
    """What happened, the last entries or those up to the number ``upto``; what is no number asks for the last."""
    number = int(upto) if upto.isascii() and upto.isdecimal() and len(upto) < _DIGITS else None
    return {"bench": bench_of(desk, view), **story_json(desk.benches, view, number)}


def _map(desk: Desk, view: View) -> Json:
    faces = [face.name for face in FACES]
    return {
        "bench": bench_of(desk, view),
        **_computed(desk, view, "map"),
        "faces": faces,
        **mistakes_json(view.voice.system),
    }


DATA: Mapping[str, Callable[[Desk, View], Json]] = MappingProxyType(
    {
        "bench": _meaning,
        "setup": lambda _desk, view: setup_values_json(view.kept, view.voice.system),
        "checks": lambda _desk, view: checks_json(view),
        "line": lambda _desk, view: line_json(view),
        "paper": lambda _desk, view: paper_json(view),
        "nock": lambda _desk, view: nock_json(view),
        "meaning": _meaning,
        "moves": _moves,
        "seeing": _seeing,
        "map": _map,
        "sheet": lambda desk, view: _computed(desk, view, "sheet"),
        "around": lambda desk, view: around_json(desk.benches, view),
        "story": story_of,
    }
)
"""The function that says it; the page's context and the JSON endpoint have the same."""
