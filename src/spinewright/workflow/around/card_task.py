"""The cards of a build and bow: one page for the bench, one for the customer."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from spinewright.errors import InputError
from spinewright.evidence import bow_check_state, contact_check_state
from spinewright.logbook import BenchState
from spinewright.workflow.around import papers
from spinewright.workflow.around.account import Account, Plot, Table
from spinewright.workflow.around.answers import Answers, day_in
from spinewright.workflow.around.papers import Paper
from spinewright.workflow.around.walk_picture import last_walk
from spinewright.workflow.build_sheet import Figure, Sheet, sheet
from spinewright.workflow.build_words import Row, adjustment_rows, alone_rows, bow_rows, part_rows
from spinewright.workflow.read_back import last_seen
from spinewright.workflow.showing import Json

__all__ = ["account"]

_LONGEST = 240  # characters of a person's own words on a card
_LONGEST_WORD = 36
_MOST_CHANGES = 14
_MOST_MARKS = 14
_FIGURES = ("mass", "balance", "foc", "speed", "energy", "momentum", "mass_per_force")
_FOR_CUSTOMER = ("mass", "foc", "speed")
_FOOT = "Left and right as seen from behind the bow at full draw."
_KEPT = ("limits", "consent")  # tasks whose kept answers have a word on the card
_LOOK_AFTER = (
    "Before you shoot: look at string, cables, limbs, rest and every nock. Anything split or frayed: do not draw it.",
    "After a hard or sideways hit: flex and look at that shaft; a damaged one is broken and thrown away.",
    "About every 200 arrows, and after heat: brace height and peak weight against this card.",
    "String, cables and cams belong in a press and to a qualified technician. Never dry-fire.",
    "Another point, head, nock or string makes it another arrow and another bow: have it checked again.",
)


@dataclass(frozen=True, slots=True)
class _Card:
    """Everything the cards say; ``kept`` is what other tasks say to kept answers, ``left_out`` what is missing."""

    sheet: Sheet
    who: str
    by: str
    day: str
    notes: tuple[str, ...]
    walk: Plot | None
    marks: Table | None
    kept: tuple[str, ...]
    left_out: tuple[str, ...]


def account(state: BenchState, answers: Answers, _progress: Callable[[float], None]) -> Account:
    """The cards, ready to print. Raises InputError for a day that is none."""
    card = _card(state, answers)
    wanted = answers.choice("for")
    made = {"bench": _bench(card), "customer": _customer(card)}
    sheets = tuple(one for name, one in made.items() if wanted in (name, "both"))
    names = " and ".join(one.title for one in sheets)
    return Account(
        "card",
        answers.task.title,
        f"Ready to print, on one page{' each' if len(sheets) > 1 else ''}: {names}.",
        card.left_out,
        tables=(
            Table("On the card", ("what", "how it is"), tuple(_short_rows(_summary(card)))),
            *([card.marks] if card.marks is not None else []),
        ),
        plots=() if card.walk is None else (card.walk,),
        cautions=card.sheet.cautions,
        rests_on=(
            "Everything on the cards is from the logbook; the figures are the build sheet's, with their doubts.",
            "The day is that of the last dated entry unless you say another. The same logbook gives the same pages.",
            "A card says what was found that day. It is no promise of how a bow or an arrow will be later.",
        ),
        papers=sheets,
    )


def _card(state: BenchState, answers: Answers) -> _Card:
    found, left_out = sheet(state), []
    walk = last_walk(state)
    if walk is None:
        left_out.append("No walk to the target is logged, so there are no holes on the card.")
    marks, why = _marks(state)
    left_out += [why] if why else []
    kept = [_answer_of(name, state) for name in _KEPT if state.answers.get(name)]
    if len(found.ledger) > _MOST_CHANGES:
        left_out.append(f"Only the last {_MOST_CHANGES} of {len(found.ledger)} changes stand on the card.")
    return _Card(
        sheet=found,
        who=_short(answers.text("customer")),
        by=_short(answers.text("by")),
        day=_day(answers.text("day"), state),
        notes=tuple(_short(one) for one in answers.lines("note")[:3]),
        walk=walk,
        marks=marks,
        kept=tuple(one for one in kept if one),
        left_out=tuple(left_out),
    )


def _day(text: str, state: BenchState) -> str:
    if not text:
        return "" if state.dated is None else state.dated.isoformat()[:10]
    return day_in(text, "day").isoformat()


def _marks(state: BenchState) -> tuple[Table | None, str]:
    """The table of sight marks from the kept answers of that task, or why there is none."""
    none = "No sight marks are on the card: keep the answers of 'marks', and they will be."
    found = _asked("marks", state) if state.answers.get("marks") else none
    if isinstance(found, str):
        return None, found
    table = next((one for one in found.tables if one.title == "Marks"), None)
    if table is None:
        return None, "The marks kept so far do not settle a scale, so no sight marks are on the card."
    columns = min(len(table.columns), 3)  # distance, mark and its doubt
    rows = tuple(row[:columns] for row in table.rows[:_MOST_MARKS])
    return Table("Sight marks", table.columns[:columns], rows, table.note), ""


def _answer_of(name: str, state: BenchState) -> str:
    found = _asked(name, state)
    return found if isinstance(found, str) else f"{found.title}: {found.answer}"


def _asked(name: str, state: BenchState) -> Account | str:
    """What another task finds with its kept answers, or a sentence why it finds nothing."""
    from spinewright.workflow.around.register import TASKS
    from spinewright.workflow.around.running import run

    if name not in TASKS:
        return f"Answers to '{name}' are kept, but that task is not part of this program."
    try:
        return run(state, name, {})
    except InputError as error:
        return f"The kept answers of '{name}' do not hold any more ({error.what}): answer it again."


def _summary(card: _Card) -> list[Row]:
    found = card.sheet
    seen = last_seen(found.state)
    return [
        ("bench", found.subject),
        ("day", card.day or "none said"),
        *[(one.label, one.text) for one in found.figures if one.of == "fletched" and one.name in _FOR_CUSTOMER],
        ("last seen", seen or "nothing yet"),
    ]


def _bench(card: _Card) -> Paper:
    found = card.sheet
    changes = found.ledger[-_MOST_CHANGES:]
    left = [
        *_titled("The arrow, part by part", found.parts),
        *_figures(card),
        *_sentences("Limits", (*found.limits, *_own_limits(found.state), *card.kept)),
        *_titled("Checks", found.checks),
        *_sight(card),
        *_sentences("Back to the recorded start", found.put_back),
    ]
    right = [
        *_titled("The bow, and what is set on it", found.settings),
        *_seen(card),
        *_sentences("Changes so far", changes),
    ]
    blocks = (
        *_head(card),
        papers.beside(left, right),
        *_care(card),
        papers.signature(_signed(card, "bench")),
    )
    return Paper("bench-card", "Bench card", (papers.fitted(blocks),), _FOOT)


def _customer(card: _Card) -> Paper:
    found, voice = card.sheet, card.sheet.voice
    setup = found.state.now
    alone = alone_rows(found.state.history.own_turns, voice)
    bow = [*bow_rows(setup, voice), *adjustment_rows(setup, voice), *alone]
    left = [
        *_titled("Your arrow", part_rows(setup.build, voice)),
        *_titled("Your bow", bow),
        *_titled("As it shoots", [(one.label, one.text) for one in _some(card, "fletched", _FOR_CUSTOMER)]),
    ]
    notes = _sentences("For you", card.notes)
    right = [*_seen(card), *_sight(card), *notes, *_sentences("Look after it", _LOOK_AFTER)]
    blocks = (*_head(card), papers.beside(left, right), *_care(card), papers.signature(_signed(card, "you")))
    return Paper("customer-card", "Your bow and arrow", (papers.fitted(blocks),), _FOOT)


def _head(card: _Card) -> list[Json]:
    rows = [("bench", card.sheet.subject), ("for", card.who), ("set up by", card.by), ("day", card.day)]
    state = card.sheet.state
    wrong = [*bow_check_state(state.history.bow_check).wrong, *contact_check_state(state.history.contact_check).wrong]
    fault = [f"The last check found wrong: {', '.join(wrong)}. Have it put right before this is shot."] if wrong else []
    grave = [papers.words(one, care=True) for one in (*state.cautions, *fault)]
    return [*grave, papers.facts([(name, _short(text)) for name, text in rows if text])]


def _titled(title: str, rows: Sequence[Row]) -> list[Json]:
    return [papers.heading(title), papers.facts(_short_rows(rows))] if rows else []


def _sentences(title: str, said: Sequence[str]) -> list[Json]:
    return [papers.heading(title), *(papers.words(_short(one)) for one in said)] if said else []


def _some(card: _Card, of: str, names: Sequence[str]) -> list[Figure]:
    return [one for one in card.sheet.figures if one.of == of and one.name in names]


def _figures(card: _Card) -> list[Json]:
    """Fletched beside bare, as on the build sheet."""
    pairs = zip(_some(card, "fletched", _FIGURES), _some(card, "bare", _FIGURES), strict=True)
    rows = [(one.label, one.text, other.text) for one, other in pairs]
    return [papers.heading("Figures"), papers.grid(("what", "fletched", "bare"), rows)]


def _seen(card: _Card) -> list[Json]:
    """The holes of the last walk, what was seen last, and what the groups before and after show."""
    said = [papers.words(_short(one)) for one in card.sheet.proof]
    if card.walk is None:
        return [papers.heading("What the shots show"), papers.words("Nothing was shot yet."), *said]
    drawn = papers.picture(card.walk.to_json(), 62.0)
    return [papers.heading("What the shots show"), drawn, papers.words(card.walk.words), *said]


def _sight(card: _Card) -> list[Json]:
    if card.marks is None:
        return []
    rows = [[one if isinstance(one, str) else str(one["text"]) for one in row] for row in card.marks.rows]
    return [papers.heading(card.marks.title), papers.grid(card.marks.columns, rows)]


def _care(card: _Card) -> list[Json]:
    """What stays true of every such arrow; what this bench must not do now stands at the head."""
    usual = [one for one in card.sheet.cautions if one not in card.sheet.state.cautions]
    return [papers.heading("Mind"), *(papers.words(one, care=True) for one in usual)]


def _own_limits(state: BenchState) -> list[str]:
    return [f"{one.about}: {one.says} (looked up {one.dated.isoformat()})." for one in state.limits]


def _signed(card: _Card, whose: str) -> str:
    if whose == "bench":
        return f"Measured and set as written here{f', {card.by}' if card.by else ''}."
    return "I have read this card; its settings, limits and cautions were explained to me."


def _short_rows(rows: Sequence[Row]) -> list[Row]:
    return [(name, _short(text)) for name, text in rows]


def _short(text: str) -> str:
    """A person's own words may be of any length; a card is one page, and a word of a hundred letters runs off it."""
    words = [one if len(one) <= _LONGEST_WORD else f"{one[: _LONGEST_WORD - 3]}..." for one in text.split()]
    text = " ".join(words)
    return text if len(text) <= _LONGEST else f"{text[: _LONGEST - 3].rstrip()}..."
