"""The build sheet: everything needed to build this arrow again, set the bow as it is, and put it all back."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime

from spinewright import logbook
from spinewright.equipment import Limit
from spinewright.evidence import bow_check_state, contact_check_state
from spinewright.evidence.checks import CheckState
from spinewright.logbook import BenchState, Knob, LedgerEntry
from spinewright.outlook import ArrowFigures, BuildFigures, build_figures, sheet_cautions
from spinewright.units import Kind, show
from spinewright.workflow.build_words import Row, adjustment_rows, alone_rows, bow_rows, part_rows, start_rows
from spinewright.workflow.changes_made import changes_made
from spinewright.workflow.open_bench import Source, state_of
from spinewright.workflow.proof import proof_of
from spinewright.workflow.read_back import ledger_words
from spinewright.workflow.setup_json import setup_json
from spinewright.workflow.showing import SI_UNITS, Json, Voice, headed

__all__ = ["Figure", "Sheet", "sheet"]

_MIRRORED = (Knob.REST_SIDEWAYS, Knob.SIGHT_SIDEWAYS, Knob.NOCK)
_KNOB_UNITS = {Knob.LIMB_BOLTS: "turns", Knob.NOCK: "rad"}


@dataclass(frozen=True, slots=True)
class Figure:
    """One figure: what it is ``of`` ('bow', 'fletched' or 'bare'), its values in SI, one sd where known, its text."""

    name: str
    label: str
    of: str
    values: tuple[float, ...]
    unit: str
    text: str
    doubt: float | None = None

    @property
    def on_face(self) -> bool:
        """Whether a person is shown it: a share of a steady thrust means little where the thrust lasts 15 ms."""
        return self.name != "thrust_share"

    def to_json(self) -> Json:
        """The figure by ``schema/sheet.json``."""
        return {
            "name": self.name,
            "label": self.label,
            "of": self.of,
            "values": list(self.values),
            "unit": self.unit,
            "doubt": self.doubt,
            "text": self.text,
        }


@dataclass(frozen=True, slots=True)
class Sheet:
    """The bench and its build with all figures; ``build`` is what a picture is drawn from."""

    state: BenchState
    build: BuildFigures
    figures: tuple[Figure, ...]
    cautions: tuple[str, ...]
    proof: tuple[str, ...]

    @property
    def voice(self) -> Voice:
        """Whose left and right, and whose units."""
        return Voice(self.state.scope.hand, self.state.scope.system)

    @property
    def subject(self) -> str:
        """Whose sheet it is and of when: the last dated event, not the day it is printed."""
        scope, dated = self.state.scope, self.state.dated
        timed = isinstance(dated, datetime)
        when = "no event is dated" if dated is None else f"as of {dated:{'%Y-%m-%d %H:%M' if timed else '%Y-%m-%d'}}"
        named = [part for part in (self.state.archer.name, self.state.now.bow.name) if part]
        return ", ".join([*named, f"{scope.hand}-handed with a {scope.release}", f"for {scope.purpose}", when])

    @property
    def parts(self) -> list[Row]:
        """Label and text of everything the arrow is built of."""
        mark = self.voice.maybe(self.state.safe_length, Kind.LENGTH)
        safe = "not marked yet" if mark is None else f"{mark['text']} from the nock throat"
        return [*part_rows(self.state.now.build, self.voice), ("shortest safe length", safe)]

    @property
    def settings(self) -> list[Row]:
        """Label and text of the bow as it is, of the recorded start, and of everything set since."""
        state, voice = self.state, self.voice
        since = adjustment_rows(state.now, voice)
        if not state.rest_known:
            since[0] = (since[0][0], "not known: measure it, or set it by the recorded centre shot")
        alone = alone_rows(state.history.own_turns, voice)
        return [*bow_rows(state.now, voice), *start_rows(state.marks, voice), *since, *alone]

    @property
    def checks(self) -> list[Row]:
        """What the last checks found."""
        history = self.state.history
        return [
            ("bow check", _check_words(bow_check_state(history.bow_check), "wrong")),
            ("contact check", _check_words(contact_check_state(history.contact_check), "touched")),
        ]

    @property
    def blocks(self) -> list[tuple[str, list[Row]]]:
        """Everything beside the figures, as titled rows; a row without a label is a sentence."""
        found = [
            ("The arrow, part by part", self.parts),
            ("The bow, and what is set on it", self.settings),
            ("Limits", [("", text) for text in self.limits]),
            ("Checks", self.checks),
            ("Changes so far", [("", text) for text in self.ledger]),
            ("Back to the recorded start", [("", text) for text in self.put_back]),
        ]
        return [(title, rows) for title, rows in found if rows]

    @property
    def put_back(self) -> tuple[str, ...]:
        """How to put everything back to the recorded start, one sentence a knob."""
        return logbook.put_back(self.state)

    @property
    def ledger(self) -> tuple[str, ...]:
        """Every change in order, in words; the sight's come last."""
        return tuple(changes_made(self.state))

    @property
    def limits(self) -> tuple[str, ...]:
        """The limits a build must keep, and how this one stands to them."""
        system = self.state.scope.system
        fletched = [one.sentence(system) for one in self.build.limits]
        return (*fletched, f"Bare shaft. {self.build.bare_limit.sentence(system)}")

    def to_json(self) -> Json:
        """The result by ``schema/sheet.json``."""
        state, voice = self.state, self.voice
        marks = state.marks
        body: Json = {
            "hand": str(voice.hand),
            "dated": None if state.dated is None else state.dated.isoformat(),
            "units": str(voice.system),
            "purpose": str(state.scope.purpose),
            "time_at_hand": str(state.scope.time_at_hand),
            "cautions": list(self.cautions),
            "notices": list(state.notices),
            "setup": setup_json(state.now, voice),
            "parts": [{"label": label, "text": text} for label, text in self.parts],
            "settings": [{"label": label, "text": text} for label, text in self.settings],
            "start": {
                "setup": setup_json(state.start, voice),
                "centre_shot": voice.maybe(marks.centre_shot, Kind.LENGTH),
                "rest_height": voice.maybe(marks.rest_height, Kind.LENGTH),
                "nock_height": voice.maybe(marks.nock_height, Kind.LENGTH),
                "bolts_out": marks.bolts_out,
                "note": marks.note,
            },
            "rest_known": state.rest_known,
            "safe_length": voice.maybe(state.safe_length, Kind.LENGTH),
            "figures": [figure.to_json() for figure in self.figures],
            "limits": [_limit(one, voice) for one in (*self.build.limits, self.build.bare_limit)],
            "changes": list(self.ledger),
            "ledger": [_entry(entry, state, voice) for entry in state.ledger],
            "put_back": list(self.put_back),
            "checks": {
                "bow": _check(bow_check_state(state.history.bow_check)),
                "contact": _check(contact_check_state(state.history.contact_check)),
            },
            "broken_shafts": list(state.broken_shafts),
            "own_limits": [
                {"about": one.about, "says": one.says, "dated": one.dated.isoformat()} for one in state.limits
            ],
            "proof": list(self.proof),
        }
        return headed("sheet", 1, body)


def sheet(source: Source) -> Sheet:
    """The build sheet of a session file or a bench in memory. Raises InputError or SolveError."""
    state = state_of(source)
    build = build_figures(state.now)
    voice = Voice(state.scope.hand, state.scope.system)
    return Sheet(
        state=state,
        build=build,
        figures=tuple(_figures(build, voice)),
        cautions=tuple(dict.fromkeys([*state.cautions, *sheet_cautions(build, state.scope.system)])),
        proof=proof_of(state),
    )


def _figures(build: BuildFigures, voice: Voice) -> Iterator[Figure]:
    for of, arrow in (("fletched", build.fletched), ("bare", build.bare)):
        yield from _arrow(arrow, of, voice)
    fit = build.bow_fit
    yield _one("stored_energy", "energy stored in the bow", "bow", (fit.curve.stored_energy, Kind.ENERGY), voice)
    yield _one("virtual_mass", "mass of the bow that moves", "bow", (fit.mass, Kind.MASS), voice, fit.mass_sd)


def _arrow(arrow: ArrowFigures, of: str, voice: Voice) -> Iterator[Figure]:
    masses, launch = arrow.masses, arrow.launch
    yield _one("mass", "whole arrow", of, (masses.total_mass, Kind.MASS), voice)
    yield _one("balance", "balance point, from the throat", of, (masses.balance, Kind.LENGTH), voice)
    yield Figure("foc", "FOC", of, (masses.foc,), "1", f"{100 * masses.foc:.1f} %")
    inertia = f"{1e3 * masses.inertia:.3f} g m2"
    yield Figure("inertia", "moment of inertia", of, (masses.inertia,), "kg m2", inertia)
    tones = ", ".join(show(f, Kind.FREQUENCY, voice.system, digits=0).removesuffix(" Hz") for f in arrow.frequencies)
    yield Figure("frequencies", "bends at", of, arrow.frequencies, "Hz", f"{tones} Hz")
    first = arrow.nodes[0] if arrow.nodes else ()
    places = ", ".join(show(s, Kind.LENGTH, voice.system, digits=1) for s in first)
    yield Figure("nodes", "stands still, from the throat", of, first, "m", places)
    yield _one("speed", "speed off the string", of, (launch.speed, Kind.SPEED), voice, arrow.speed_doubt)
    yield _one("energy", "kinetic energy", of, (launch.energy, Kind.ENERGY), voice)
    yield _one("momentum", "momentum", of, (launch.momentum, Kind.MOMENTUM), voice)
    ratio = launch.mass_per_force
    text = show(ratio, Kind.MASS_PER_FORCE, voice.system, digits=2)
    yield Figure("mass_per_force", "mass per peak weight", of, (ratio,), SI_UNITS[Kind.MASS_PER_FORCE], text)
    yield _one("time_on_string", "time on the string", of, (launch.time_on_string, Kind.TIME), voice)
    percent = f"{100 * arrow.thrust_share:.0f} %"
    yield Figure("thrust_share", "share of the buckling thrust", of, (arrow.thrust_share,), "1", percent)


def _one(
    name: str, label: str, of: str, number: tuple[float, Kind], voice: Voice, doubt: float | None = None
) -> Figure:
    value, kind = float(number[0]), number[1]
    text = show(value, kind, voice.system, doubt=doubt)
    return Figure(name, label, of, (value,), SI_UNITS[kind], text, None if doubt is None else float(doubt))


def _limit(limit: Limit, voice: Voice) -> Json:
    unit = "turns" if limit.kind is None else SI_UNITS[limit.kind]
    return {
        "what": str(limit.what),
        "state": str(limit.state),
        "present": float(limit.present),
        "bound": None if limit.bound is None else float(limit.bound),
        "at_least": limit.minimum,
        "unit": unit,
        "text": limit.sentence(voice.system),
    }


def _entry(entry: LedgerEntry, state: BenchState, voice: Voice) -> Json:
    sign = voice.hand.sideways_sign if entry.knob in _MIRRORED else 1.0

    def seen(value: float | None) -> float | None:
        return None if value is None else value * sign

    return {
        "event": entry.event,
        "what": str(entry.knob),
        "unit": _KNOB_UNITS.get(entry.knob, "m"),
        "intended": seen(entry.intended),
        "measured": seen(entry.measured),
        "clicks": seen(entry.clicks),
        "total": seen(entry.total),
        "total_clicks": seen(entry.total_clicks),
        "text": ledger_words(entry, state),
    }


def _check_words(state: CheckState, bad: str) -> str:
    if state.passed:
        return "everything in order"
    parts = [(bad, state.wrong), ("not looked at", state.missing)]
    return "; ".join(f"{word}: {', '.join(items)}" for word, items in parts if items)


def _check(check: CheckState) -> Json:
    return {"in_order": list(check.in_order), "wrong": list(check.wrong), "not_looked_at": list(check.missing)}
