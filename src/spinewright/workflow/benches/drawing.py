"""What is drawn while a setup is typed in: arrow to scale, draw curve, limits and cautions; nothing is saved."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from typing import Any

from spinewright.equipment import (
    ArrowBuild,
    Bow,
    DrawCurve,
    LimitKind,
    LimitState,
    MassModel,
    Setup,
    mass_model,
    safety_limits,
)
from spinewright.errors import InputError, SolveError, SpinewrightError
from spinewright.logbook import sections
from spinewright.logbook.head import head_text
from spinewright.logbook.keys import ROOT
from spinewright.logbook.table import Table
from spinewright.units import Hand, Kind, System, show
from spinewright.workflow.benches.refusals import error_object
from spinewright.workflow.showing import Json

__all__ = ["drawing_json", "drawing_of", "read_paste"]

_POINTS = 81
_NUMBER = re.compile(r"[-+]?\d+(?:[.,]\d+)?(?:\s+\d+/\d+)?|\d+/\d+")


def drawing_json(body: object, system: System) -> Json:
    """The drawing of values, and of what was pasted from a scale, as a page sent them."""
    values = body.get("values") if isinstance(body, Mapping) else None
    paste = body.get("paste") if isinstance(body, Mapping) else ""
    return drawing_of(values if isinstance(values, Mapping) else {}, paste if isinstance(paste, str) else "", system)


def drawing_of(values: Mapping[str, object], paste: str, system: System) -> Json:
    """Everything that can be drawn of ``values``; what cannot be read is told and left out."""
    errors: list[Exception] = []
    rows, words = read_paste(paste)
    if rows:
        values = {**values, "bow.draw_readings": rows}
    root = _root(values, errors)
    bow = build = setup = None
    if root is not None:
        build = _tried(lambda: sections.read_build(root), errors)
        bow = _tried(lambda: sections.read_bow(root), errors)
        if bow is not None and build is not None:
            setup = _tried(lambda: Setup(build=build, bow=bow), errors)
    limits = [] if setup is None else safety_limits(setup)
    bare = [] if setup is None else [one for one in safety_limits(setup, bare=True) if one.what is LimitKind.ARROW_MASS]
    broken = [one.sentence(system) for one in limits if one.state is LimitState.BROKEN]
    broken += [f"Bare shaft. {one.sentence(system)}" for one in bare if one.state is LimitState.BROKEN]
    return {
        "arrow": None if build is None else _arrow(build, system),
        "curve": None if bow is None else _tried(lambda: _curve(bow, system), errors),
        "rows": rows,
        "paste_words": words,
        "limits": [{"what": str(o.what), "state": str(o.state), "text": o.sentence(system)} for o in limits],
        "cautions": broken,
        "errors": _each_once([error_object(error, system) for error in errors]),
    }


def read_paste(text: str) -> tuple[list[dict[str, str]], str]:
    """Rows of draw and force from pasted lines of two numbers, with the units of the first line that names any.

    Lines without two numbers (headings) are left out; without units inches and pounds are taken, and said.
    """
    if not text.strip():
        return [], ""
    metric = re.search(r"\b(cm|mm|newton|kgf?)\b|\bN\b", text)
    draw_unit = "cm" if re.search(r"\bcm\b", text) else ("mm" if re.search(r"\bmm\b", text) else "in")
    force_unit = "N" if re.search(r"\bN\b|\bnewton", text) else ("kgf" if re.search(r"\bkgf?\b", text) else "lb")
    rows, left_out = [], 0
    for line in text.splitlines():
        found = _NUMBER.findall(line)
        if len(found) >= 2:
            draw, force = (one.replace(",", ".") for one in found[:2])
            rows.append({"draw": f"{draw} {draw_unit}", "force": f"{force} {force_unit}"})
        elif line.strip():
            left_out += 1
    if not rows:
        return [], "No line with a draw and a force was found; paste two numbers a line, such as '20 61.5'."
    taken = "" if metric else ", taken as inches and pounds"
    skipped = f"; {left_out} without two numbers left out" if left_out else ""
    return rows, f"{len(rows)} readings{taken}{skipped}."


def _root(values: Mapping[str, object], errors: list[Exception]) -> Table | None:
    try:
        data = tomllib.loads(head_text(values))
    except (SpinewrightError, tomllib.TOMLDecodeError) as error:
        errors.append(error)
        return None
    hand = Hand.LEFT if values.get("scope.hand") == "left" else Hand.RIGHT
    found: Table | None = _tried(lambda: Table.over(data, ROOT, "", hand), errors)
    return found


def _tried(make: Any, errors: list[Exception]) -> Any:  # noqa: ANN401 - whatever it makes
    """What ``make`` makes, or None and its error among ``errors``."""
    try:
        return make()
    except InputError as error:
        errors.append(error)
        return None


def _each_once(told: list[Json]) -> list[Json]:
    return [one for number, one in enumerate(told) if one not in told[:number]]


def _curve(bow: Bow, system: System) -> Json:
    curve = DrawCurve.of(bow)
    where, force = curve.table(_POINTS)
    measured = isinstance(bow.curve, tuple)
    brace = bow.brace_height
    readings = [[one.draw, one.force] for one in bow.curve] if isinstance(bow.curve, tuple) else []
    return {
        "draw": [float(u) + brace for u in where],
        "force": [float(one) for one in force],
        "readings": readings,
        "peak": curve.peak,
        "hold": curve.holding,
        "energy": curve.stored_energy,
        "measured": measured,
        "texts": {
            "peak": show(curve.peak, Kind.FORCE, system, digits=1),
            "hold": show(curve.holding, Kind.FORCE, system, digits=1),
            "let_off": show(1.0 - curve.holding / curve.peak, Kind.FRACTION, system),
            "energy": show(curve.stored_energy, Kind.ENERGY, system, doubt=curve.energy_doubt * curve.stored_energy),
            "stated": curve.stated,
        },
    }


def _arrow(build: ArrowBuild, system: System) -> Json:
    fletched, bare = mass_model(build, bare=False), mass_model(build, bare=True)
    length, head, vanes = build.throat_length, build.head, build.fletching
    nodes, bare_nodes = _nodes(fletched), _nodes(bare)
    insert = build.insert
    return {
        "length": length,
        "throat": 0.0,
        "carbon": [build.carbon_start, length],
        "point": {"from": length, "to": length + head.length, "mass": head.mass},
        "insert": None if insert is None else [length - insert.length, length],
        "nock": [0.0, build.carbon_start],
        "vanes": {
            "from": vanes.from_rear,
            "to": vanes.from_rear + vanes.length,
            "height": vanes.height,
            "count": vanes.count,
        },
        "diameter": build.shaft.outer_diameter,
        "balance": fletched.balance,
        "foc": fletched.foc,
        "nodes": nodes,
        "weight": fletched.total_mass,
        "bare": {"balance": bare.balance, "foc": bare.foc, "nodes": bare_nodes, "weight": bare.total_mass},
        "texts": _texts(fletched, bare, nodes, system),
    }


def _texts(fletched: MassModel, bare: MassModel, nodes: list[float], system: System) -> Json:
    return {
        "balance": show(fletched.balance, Kind.LENGTH, system),
        "foc": f"{100 * fletched.foc:.1f} %",
        "weight": show(fletched.total_mass, Kind.MASS, system),
        "bare_weight": show(bare.total_mass, Kind.MASS, system),
        "length": show(fletched.length, Kind.LENGTH, system),
        "nodes": ", ".join(show(one, Kind.LENGTH, system, digits=1) for one in nodes),
    }


def _nodes(masses: MassModel) -> list[float]:
    """Where the first bending mode stands still [m from the throat]; [] where it has none that can be computed."""
    from spinewright.mechanics import build_rod, mode_nodes

    try:
        return [float(one) for one in mode_nodes(build_rod(masses), 1)]
    except SolveError:
        return []
