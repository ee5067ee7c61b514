"""The readers that are tried, each as a function of a string of bytes, with good bytes to begin from."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from types import MappingProxyType

from soak.bad_input.edits import good_sessions, spoilt
from spinewright.equipment.arrow import HeadKind
from spinewright.errors import InputError
from spinewright.logbook import EVENTS, BenchState, parse, replay
from spinewright.logbook.keys import ARROW_PARTS
from spinewright.logbook.phrases import read_clicks, read_lean, read_nock_turn, read_turns, read_way
from spinewright.units import Hand, Kind, System
from spinewright.units import parse as parse_quantity
from spinewright.workflow import phrases
from spinewright.workflow.around.answers import Answers, answers_of
from spinewright.workflow.around.build_lists import heads_of, shafts_of
from spinewright.workflow.around.numbered import numbers_in
from spinewright.workflow.around.proof_read import torqued, walked
from spinewright.workflow.around.register import TASKS
from spinewright.workflow.around.shaft_list import listed_shafts
from spinewright.workflow.around.sighting import distances_of

__all__ = ["TARGETS", "Target"]


@dataclass(frozen=True, slots=True)
class Target:
    """A reader: ``about`` as a row of the page, ``share`` of the time, ``seeds`` to begin from, ``longest`` [bytes]."""

    about: str
    share: float
    seeds: Callable[[], list[bytes]]
    read: Callable[[bytes], object]
    longest: int = 16_384


def _text(data: bytes) -> str:
    return data.decode("utf-8", "replace")


def _session(text: str) -> object:
    if not text.strip():
        return None  # an empty file is refused as a whole: it has no line to name
    session = parse(text, "a.toml")
    return session, replay(session)


@lru_cache(maxsize=1)
def _bench() -> BenchState:
    return replay(parse("\n".join(good_sessions()[0]), "a.toml"))


def _phrase(data: bytes) -> object:
    """One phrase through every reader of phrases; all of them run, and the first fault of any is the fault."""
    text = _text(data)
    found, refused = [], None
    for reader in _PHRASES:
        try:
            found.append(reader(text))
        except InputError as error:
            refused = error
            if error.place.field is None:
                raise
    if refused is not None and not found:
        raise refused
    return found


_KNOWN = {"cam timing": "cam_timing", "nock fit": "nock_fit"}
_PHRASES: tuple[Callable[[str], object], ...] = (
    lambda text: phrases.hit(text, "bare", "hit"),
    lambda text: phrases.nock_reading(text, "paper", "reading"),
    lambda text: phrases.draw_reading(text, "reading"),
    *(lambda text, key=key: phrases.part(text, key.keys, key.name) for key in ARROW_PARTS),
    lambda text: phrases.checked_items(_KNOWN, (text,), (), "bow check"),
    lambda text: numbers_in(text, "set"),
    lambda text: distances_of(text, System.INCH),
    lambda text: read_clicks(text, Hand.LEFT, field="clicks"),
    lambda text: read_way(text, Hand.LEFT, field="hole"),
    lambda text: read_lean(text, Hand.RIGHT, field="lean"),
    lambda text: read_turns(text, field="turns"),
    lambda text: read_nock_turn(text, Hand.LEFT, field="turned"),
)


def _quantity(data: bytes) -> object:
    kinds = list(Kind)
    return parse_quantity(_text(data[1:]), kinds[data[0] % len(kinds)] if data else Kind.LENGTH, field="given")


def _cells(answers: Answers, name: str, columns: tuple[str, ...]) -> object:
    """Every cell as a number and as a quantity; both may refuse."""
    found: list[object] = []
    for row in answers.table(name, columns[:1], columns[1:]):
        for column in columns:
            text = row.text(column)
            found.append(row.number(column) if text[:1].isdigit() else row.quantity(column, Kind.LENGTH))
    return found


_TABLES: tuple[tuple[str, str, Callable[[Answers], object]], ...] = (
    ("alike", "shafts", listed_shafts),
    ("builds", "shafts", lambda answers: shafts_of(_bench(), answers)),
    ("builds", "points", lambda answers: [heads_of(_bench(), answers, kind) for kind in HeadKind]),
    ("nocks", "readings", lambda answers: _cells(answers, "readings", ("shaft", "angle", "where"))),
    ("shafts", "unlogged", lambda answers: _cells(answers, "unlogged", ("shaft", "bare", "fletched", "paper"))),
    ("proof", "walk-back", lambda answers: walked(answers, Hand.LEFT)),
    ("proof", "torque", lambda answers: torqued(answers, Hand.LEFT)),
)
_CSV = (
    "shaft,mass,spine 1,spine 2,spine 3,spine 4,straightness,length\n1,280 gr,355,360,351,349,0.003 in,32 in\n"
    "2,281.5 gr,352,361,355,350,0.001 in,32 in\n",
    "name,spine,weight,outer diameter,inner diameter,length\ngrey,355,8.6 gr/in,0.262 in,0.204 in,32 in\n",
    "mass,name,kind,length\n100 gr,a,field,1 in\n125 gr,b,fixed,1 in\n",
    'shaft;angle;where\n# a note\n1;0 deg;"left 1 in, high 0.2 in"\n1;20 deg;right 0.2 in\n',
    "shaft\tbare\tfletched\tpaper\n1\t3\t4\t0\n2\t0\t0\t1\n",
    "distance,where,when\n20 yd,left 1 in,before\n40 yd,right 2 in,after\n",
    "turned,where,when\nleft,left 1 in,before\nright,right 2 in,after\n",
)


def _table(data: bytes) -> object:
    task, question, read = _TABLES[data[0] % len(_TABLES)] if data else _TABLES[0]
    text = _text(data[1:])
    if not text.strip():
        return None  # not answered, which is no table
    return read(answers_of(TASKS[task], {question: (text,)}, {}))


def _session_seeds() -> list[bytes]:
    return ["\n".join(one).encode() for one in good_sessions()]


def _edit_seeds() -> list[bytes]:
    return [bytes([n % 4, 1, n, 0, 3, n]) for n in range(len(EVENTS))]


def _phrase_seeds() -> list[bytes]:
    said = (
        "7: left 2.1 in, high 0.6 in; nock right 2 deg; bad", "20 deg: right 0.4 in", "20 in: 61 lb",
        "mass 9 gr, length 0.9 in", "count 3, mass 6.8 gr", "cam timing", "left 3, up 2", "out 1 1/2 turns",
        "left 1/32 in, low 2 mm", "clockwise 20 deg", "straight", "right", "1-12, 14", "20 to 60 yd by 5 yd",
    )  # fmt: skip
    return [one.encode() for one in said]


def _quantity_seeds() -> list[bytes]:
    said = (b"29 1/2 in", b"749 mm", b"1/64 in", b"8.9 gr/in", b"385 (9.78 mm)", b"61 lb (271 N)", b"80 %", b"-0.4 in")
    return [bytes([n]) + one for n in range(len(Kind)) for one in said]


TARGETS: Mapping[str, Target] = MappingProxyType(
    {
        "session": Target("session file, any bytes", 3.0, _session_seeds, lambda data: _session(_text(data))),
        "spoilt": Target("session file, good ones spoilt", 4.0, _edit_seeds, lambda data: _session(spoilt(data)), 120),
        "table": Target("tables (CSV)", 4.0, lambda: [bytes([n]) + one.encode() for n, one in enumerate(_CSV)], _table),
        "phrase": Target("phrases of one line", 1.0, _phrase_seeds, _phrase),
        "quantity": Target("quantities", 1.0, _quantity_seeds, _quantity),
    }
)
"""All readers by name."""
