"""Says how to log a move once it is done: the items to go through, and the very command lines."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING

from spinewright.advice.moves import MoveKind
from spinewright.cli.log_options import LOG_KINDS
from spinewright.evidence.checks import BOW_ITEMS, CONTACT_ITEMS, bow_check_state, contact_check_state
from spinewright.units import Kind, System, show

if TYPE_CHECKING:
    from spinewright.workflow import NextMove

__all__ = ["command_line", "items_of", "log_hints"]

_SHOOTING = (MoveKind.SHOOT, MoveKind.STEP_BACK)


def items_of(result: NextMove) -> tuple[str, ...]:
    """What the chosen check goes through: what was not looked at yet, or all of it; nothing for other moves."""
    kind, history = result.advice.move.move.kind, result.situation.history
    if kind is MoveKind.CHECK_BOW:
        looked = (bow_check_state(check).missing for check in (history.bow_check, history.bow_check_since))
        return next(filter(None, looked), tuple(BOW_ITEMS.values()))
    if kind is MoveKind.CHECK_CONTACT:
        seen = (contact_check_state(check).missing for check in (history.contact_check, history.contact_check_since))
        return next(filter(None, seen), tuple(CONTACT_ITEMS.values()))
    return ()


def command_line(file: str, event: Mapping[str, object]) -> str:
    """The command that logs ``event``, whose values are texts, whole numbers or one section of them."""
    kind = next(one for one in LOG_KINDS if one.event == event["kind"])
    flags = {option.key: option.flag for option in kind.options}
    said: list[str] = []
    for key, value in event.items():
        inner = value if isinstance(value, Mapping) else {key: value}
        said += [f"{flags[name]} {quoted(str(one))}" for name, one in inner.items() if name in flags]
    sure = ["--sure"] if "sure" in flags else []
    return " ".join(["spinewright log", quoted(file), kind.command, *said, *sure])


def quoted(text: str) -> str:
    """``text`` as one word of a command line."""
    return text if text and all(sign.isalnum() or sign in "-_./:" for sign in text) else f'"{text}"'


def log_hints(result: NextMove, file: str) -> list[str]:
    """How the chosen move is logged in ``file``: sentences, and command lines that start with the program's name."""
    kind = result.advice.move.move.kind
    if result.advice.why in ("conflict stays", "conflict, yet near"):
        return []  # settings that nothing fits together with are not kept as good
    if result.events:
        hints = [command_line(file, event) for event in result.events]
        return [*hints, *_measured(kind)]
    log = f"spinewright log {quoted(file)}"
    if kind is MoveKind.SET_ASIDE:
        return [*_set_aside(result, log), *_shots(result, log)]
    if kind is MoveKind.MEASURE_REST:
        return _measure_rest(result, log)
    if kind in _SHOOTING:
        return _shots(result, log)
    make = _STEADY.get(kind)
    return [] if make is None else make(log, result.voice.system)


def _measured(kind: MoveKind) -> list[str]:
    if kind in (MoveKind.CUT, MoveKind.OTHER_SHAFT):
        return ["Put the lengths that you measure in place of those intended."]
    if kind in (MoveKind.REST_SIDEWAYS, MoveKind.REST_HEIGHT, MoveKind.REST_BOTH, MoveKind.NOCK_POINT):
        return ["If you measured how far it moved, add --measured."]
    return ["Add --weighed with what the scale says."] if kind is MoveKind.BOLTS else []


def _shots(result: NextMove, log: str) -> list[str]:
    system, kind = result.voice.system, result.advice.move.move.kind
    size, more = ("0.4 in", "1.9 in") if system is System.INCH else ("10 mm", "48 mm")
    here = show(result.situation.distance, Kind.DISTANCE, system)
    further = show(result.advice.move.move.amount, Kind.DISTANCE, system, digits=0)
    where = further if kind is MoveKind.STEP_BACK else here
    hole, bare = f"1: left {size}, high {size}", f"7: left {more}, high {size}; nock right 2 deg"
    return [
        f'{log} shots --distance "{where}" --target "fresh foam" --fletched "{hole}" --bare "{bare}"',
        "--fletched or --bare once for each arrow: its number, then where its hole is; for bare ones where the nock "
        "leans as well.",
    ]


def _set_aside(result: NextMove, log: str) -> list[str]:
    number = f"{result.advice.move.move.amount:.0f}"
    return [
        f"{log} set-aside --shaft {number}",
        "or, when its nock was turned instead and it is shot again:",
        f'{log} nock --shaft {number} --turned "clockwise 40 deg"',
        "and then what was shot:",
    ]


def _check(command: str, everything: str, wrong: str, item: str) -> Callable[[str, System], list[str]]:
    def lines(log: str, _system: System) -> list[str]:
        return [
            f"{log} {command} {everything}",
            "or, when one is not in order:",
            f"{log} {command} {everything} {wrong} {quoted(item)}",
        ]

    return lines


def _mark(log: str, system: System) -> list[str]:
    mark = "27 1/4 in" if system is System.INCH else "692 mm"
    return [f'{log} safe-length --mark "{mark}" --helper --backstop', "with what you measured in place of the length."]


def _nock_series(log: str, system: System) -> list[str]:
    paper, first, second = ("6 ft", "0.7 in", "0.4 in") if system is System.INCH else ("2 m", "18 mm", "10 mm")
    return [
        f'{log} nock-series --shaft 7 --bare --distance "{paper}" --through paper --turning clockwise '
        f'--reading "0 deg: left {first}" --reading "20 deg: left {second}"',
        "--reading once for each angle: the nock's, then where the TAIL tore.",
    ]


def _measure_rest(result: NextMove, log: str) -> list[str]:
    inches = result.voice.system is System.INCH
    click, stands = ("0.002 in", "27/32 in") if inches else ("0.05 mm", "21.4 mm")
    lines = [
        f'{log} rest-measured --sideways-per-click "{click}" --height-per-click "{click}"',
        "with what ten clicks measured, divided by ten; clicks logged before count then as well.",
    ]
    if result.state.marks.centre_shot is None:
        return lines
    return [*lines, "Or where it stands now, as at the start:", f'{log} rest-measured --centre-shot "{stands}"']


def _technician(log: str, _system: System) -> list[str]:
    return [f'{log} bow --what "what was done, and by whom" --weighed "61 lb"', f"{log} bow-check --all-in-order"]


def _other_shaft(log: str, system: System) -> list[str]:
    throat, carbon = ("30 1/2 in", "29 7/8 in") if system is System.INCH else ("775 mm", "759 mm")
    return [
        f'{log} shaft --throat-length "{throat}" --carbon-length "{carbon}" --spine 340 --spine-test current '
        '--weight "8.9 gr/in" --outer-diameter "0.3 in" --inner-diameter "0.244 in"',
        "with the new shaft's own numbers.",
    ]


def _good(log: str, _system: System) -> list[str]:
    return [f"{log} good", "keeps these settings to come back to."]


_STEADY: Mapping[MoveKind, Callable[[str, System], list[str]]] = {
    MoveKind.CHECK_BOW: _check("bow-check", "--all-in-order", "--wrong", "rest drop"),
    MoveKind.CHECK_CONTACT: _check("contact-check", "--all-clean", "--touched", "vanes"),
    MoveKind.MARK_LENGTH: _mark,
    MoveKind.TURN_NOCK: _nock_series,
    MoveKind.TECHNICIAN: _technician,
    MoveKind.OTHER_SHAFT: _other_shaft,
    MoveKind.STOP: _good,
    MoveKind.KEEP: _good,
}
