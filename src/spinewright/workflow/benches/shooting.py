"""What the pages at the line, at the paper and with the nock dial are about."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from math import pi

import numpy as np

from spinewright.equipment import FACES, Face
from spinewright.equipment.arrow import HeadKind
from spinewright.evidence import NockSeries, Seen, TargetKind, Tear, best_angle, fit_nock_series, read_back
from spinewright.logbook import events as ev
from spinewright.units import Kind, System, show
from spinewright.workflow.benches.gap_json import scatter_at
from spinewright.workflow.benches.sides import xy
from spinewright.workflow.benches.view import View
from spinewright.workflow.benches.walk_json import closed_walks, open_walk_json
from spinewright.workflow.showing import Json

__all__ = ["line_json", "nock_json", "paper_json"]

_WALKS = 12
_USUAL = {System.INCH: ("20 yd", "30 yd", "18 m"), System.METRIC: ("18 m", "30 m", "50 m")}
_USUAL_PAPER = {System.INCH: ("6 ft", "10 ft", "15 ft"), System.METRIC: ("2 m", "3 m", "5 m")}
_SHAFTS = 6
_ENOUGH = 2  # shafts of each kind that make a set one goes on with
#: Colours of the rings by the rule book (World Archery, Book 2): white, black, blue, red, gold, two rings each.
_RINGS = {
    1: "white",
    2: "white",
    3: "black",
    4: "black",
    5: "blue",
    6: "blue",
    7: "red",
    8: "red",
    9: "gold",
    10: "gold",
}
_CARE = (
    "No phone in the hand while an arrow is nocked or the line is hot: shoot, make safe, walk, then tap.",
    "Never a broadhead on an unfletched shaft; bare shafts only at a backstop that forgives a wide miss.",
    "Flex and look at every carbon shaft after a hard or sideways hit before it is shot again.",
)
_PAPER_CARE = (
    "A backstop behind the paper, and nobody beyond it.",
    "The paper hangs square to the shot, its middle at the height of the arrow.",
)
_NOCK_CARE = (
    "Turn the nock only with the arrow off the string; see that it is seated fully and not cracked before each shot.",
)


def line_json(view: View) -> Json:
    """The target: the walk that goes on, those before, what can be chosen."""
    state = view.state
    walks = [event for event in view.session.events if isinstance(event, ev.Shots | ev.ProofGroup)]
    last = walks[-1] if walks else None
    distances = _said_first([_said(view, one.distance, one.id) for one in reversed(walks)], _USUAL[view.voice.system])
    far = last.distance if last else 20 * 0.9144
    sd = scatter_at(state, far)
    return {
        "walk": open_walk_json(view),
        "last": {
            "distance": distances[0],
            "target": str(last.target) if last else str(TargetKind.FRESH_FOAM),
            "kind": last.kind if last else "shots",
        },
        "distances": distances,
        "targets": [str(kind) for kind in TargetKind],
        "faces": [_face(face) for face in FACES if "inner" not in face.name and "triple" not in face.name],
        "shafts": _shafts(view),
        "heads": [str(kind) for kind in HeadKind],
        "care": list(_CARE),
        "archer": {
            "sd": sd,
            "text": f"{show(sd, Kind.LENGTH, view.voice.system)} each way at "
            f"{show(far, Kind.DISTANCE, view.voice.system)}",
        },
        "walks": closed_walks(view, _WALKS),
        "arrow_radius": state.now.build.shaft.outer_diameter / 2.0,
        "revision": view.kept.row.revision,
    }


def paper_json(view: View) -> Json:
    """The paper: tears so far, the last first."""
    found = [(item, item.what) for item in _seen(view) if isinstance(item.what, Tear)]
    distances, last = _as_last_time(view, [tear for _, tear in found])
    return {
        "shafts": _shafts(view),
        "distances": distances,
        "last": last,
        "tears": [_tear(view, item, tear) for item, tear in found],
        "care": [*_PAPER_CARE, _CARE[1]],
    }


def nock_json(view: View) -> Json:
    """The nock dial: series so far, the last first, each with its cleanest angle where it has one."""
    found = [(item, item.what) for item in _seen(view) if isinstance(item.what, NockSeries)]
    distances, last = _as_last_time(view, [one for _, one in found])
    latest = found[0][1] if found else None
    return {
        "shafts": _shafts(view),
        "distances": distances,
        "last": {
            **last,
            "through": "target" if latest and not latest.paper else "paper",
            "turning": "clockwise",
        },
        "series": [_series(view, item, one) for item, one in found],
        "care": [*_NOCK_CARE, *_PAPER_CARE[:1]],
    }


def _as_last_time(view: View, found: Sequence[Tear | NockSeries]) -> tuple[list[str], Json]:
    """Distances to choose from, and what was chosen for the latest of ``found``; a bare shaft before there is one."""
    distances = _said_first(
        [show(one.distance, Kind.DISTANCE, view.kept.system) for one in found], _USUAL_PAPER[view.voice.system]
    )
    shaft, bare = (found[0].shaft, found[0].bare) if found else (1, True)
    return distances, {"distance": distances[0], "shaft": shaft, "state": _state(bare)}


def _seen(view: View) -> Iterator[Seen]:
    yield from reversed(view.state.history.seen)


def _state(bare: bool) -> str:
    return "bare" if bare else "fletched"


def _said(view: View, distance: float, event: str) -> str:
    """A distance as it was chosen, or in the bench's own units."""
    walk = view.kept.walks.get(event)
    said = None if walk is None else walk.about.get("distance")
    return str(said) if said else show(distance, Kind.DISTANCE, view.kept.system)


def _said_first(said: list[str], usual: tuple[str, ...]) -> list[str]:
    return list(dict.fromkeys([*said, *usual]))


def _shafts(view: View) -> list[Json]:
    """Shafts that were shot and how they were shot last; until two of each were, three fletched and three bare too."""
    state = view.state
    known: dict[int, str] = {}
    settled = False
    for event in view.session.events:
        if isinstance(event, ev.Shots | ev.ProofGroup):
            known |= {hit.impact.shaft: _state(hit.impact.bare) for hit in event.hits}
        elif isinstance(event, ev.PaperTorn):
            known[event.tear.shaft] = _state(event.tear.bare)
        # while a walk goes on its shafts stay to be chosen from
        if event.id != view.kept.open:
            settled = all(list(known.values()).count(_state(bare)) >= _ENOUGH for bare in (True, False))
    usual = {} if settled else {number: _state(number > _SHAFTS // 2) for number in range(1, _SHAFTS + 1)}
    return [
        {
            "number": number,
            "state": how,
            "broken": number in state.broken_shafts,
            "set_aside": number in state.history.set_aside,
        }
        for number, how in sorted({**usual, **known}.items())
    ]


def _face(face: Face) -> Json:
    rings = [
        {"radius": radius, "fill": _RINGS[score], "line": "white" if _RINGS[score] == "black" else "black"}
        for score, radius in reversed(face.rings)
    ]
    return {"name": face.name, "diameter": 2.0 * face.rings[-1][1], "rings": rings}


def _tear(view: View, item: Seen, tear: Tear) -> Json:
    x, y = xy(tear.tail_y, tear.tail_z, view.voice.hand)
    return {
        "id": item.event,
        "shaft": tear.shaft,
        "state": _state(tear.bare),
        "distance": view.voice.quantity(tear.distance, Kind.DISTANCE),
        "x": x,
        "y": y,
        "bad": tear.called_bad,
        "words": _words(view, tear),
    }


def _series(view: View, item: Seen, series: NockSeries) -> Json:
    sign = view.voice.hand.sideways_sign
    readings = []
    for one in series.readings:
        x, y = xy(one.y, one.z, view.voice.hand)
        readings.append({"angle": one.angle * sign, "x": x, "y": y})
    fit = fit_nock_series(series)
    best = best_angle(fit, np.random.default_rng(0), 0.0)
    found: Mapping[str, object] | None = None
    if best is not None:
        angle = float(np.angle(np.exp(1j * best.angle))) * sign
        way = "clockwise" if angle >= 0 else "counterclockwise"
        settled = "" if best.settled else ", not settled yet"
        text = f"{way} {show(abs(angle), Kind.ANGLE, view.voice.system, digits=0)}{settled}"
        found = {"angle": angle % (2.0 * pi), "text": text}
    return {
        "id": item.event,
        "shaft": series.shaft,
        "state": _state(series.bare),
        "distance": view.voice.quantity(series.distance, Kind.DISTANCE),
        "through": "paper" if series.paper else "target",
        "readings": readings,
        "words": f"{_words(view, series)} {fit.sentence}",
        "best": found,
    }


def _words(view: View, what: Tear | NockSeries) -> str:
    text = read_back(what, view.voice.hand, view.voice.system)
    return f"{text[:1].upper()}{text[1:]}."
