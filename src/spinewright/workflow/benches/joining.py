"""Takes a whole logbook out into one file, and joins one that was brought with the benches that are here."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from spinewright.errors import InputError, Place, SessionFileError, StoreError
from spinewright.logbook import safe_write
from spinewright.logbook.exchange import LARGEST, exchange_text, read_exchange
from spinewright.logbook.store import Outrun, Whole
from spinewright.logbook.uniting import united
from spinewright.units import counted
from spinewright.workflow.benches.kept import Kept, kept_from
from spinewright.workflow.benches.refusals import Refused
from spinewright.workflow.benches.room import Benches
from spinewright.workflow.benches.walks import tap_from
from spinewright.workflow.showing import Json

__all__ = ["Joined", "export_file", "export_text", "file_name", "import_file", "import_text"]

_TRIES = 20  # times that other benches may be quicker


@dataclass(frozen=True, slots=True)
class Joined:
    """What came of it: ``words`` say it, ``disputes`` by a bench's name what does not go together."""

    words: tuple[str, ...]
    disputes: Mapping[str, tuple[str, ...]]
    changed: bool

    def to_json(self) -> Json:
        """As docs/page.md has it."""
        found = [{"bench": name, "words": list(said)} for name, said in self.disputes.items()]
        return {"words": list(self.words), "disputes": found, "changed": self.changed}


def file_name() -> str:
    """What a logbook file is called that is written today."""
    return f"logbook-{datetime.now(UTC):%Y-%m-%d}.json"


def export_text(benches: Benches) -> str:
    """The whole logbook as a file's text. Raises StoreError."""
    return exchange_text(benches.wholes())


def export_file(benches: Benches, path: Path) -> int:
    """Write the whole logbook to a new file; how many benches it holds. Raises StoreError where there is one."""
    wholes = benches.wholes()
    safe_write.make(path, exchange_text(wholes).encode())
    return len(wholes)


def import_file(benches: Benches, path: Path) -> Joined:
    """:func:`import_text` of a file."""
    name = str(path)
    try:
        if path.stat().st_size > LARGEST:
            raise SessionFileError("the file is far too large", "give a logbook file", Place(file=name))
        text = path.read_bytes().decode("utf-8")
    except UnicodeDecodeError as error:
        raise SessionFileError("the file is not UTF-8 text", "give a logbook file", Place(file=name)) from error
    except OSError as error:
        reason = error.strerror or str(error)
        raise SessionFileError(f"the file cannot be read ({reason})", "check its name", Place(file=name)) from error
    return import_text(benches, text, name)


def import_text(benches: Benches, text: str, name: str) -> Joined:
    """Join the logbook in ``text`` with the one here, all of it or nothing. Raises InputError, StoreError."""
    brought = read_exchange(text, name)
    for number, whole in enumerate(brought, 1):
        _check_taps(whole, f"benches[{number}]", name)
    for _ in range(_TRIES):
        try:
            return _joined(benches, brought, name)
        except Outrun:
            continue
    raise StoreError("other benches go on saving while this is joined; nothing was changed, bring it in once more.")


def _joined(benches: Benches, brought: Sequence[Whole], name: str) -> Joined:
    here = {whole.row.id: whole for whole in benches.wholes()}
    words: list[str] = []
    disputes: dict[str, tuple[str, ...]] = {}
    changed: list[Whole] = []
    for number, other in enumerate(brought, 1):
        mine = here.get(other.row.id)
        # a bench that is new is joined with itself: what it was where it comes from says nothing here
        both = united(mine or other, other)
        kept = _standing(both, f"benches[{number}]", name)
        title = both.row.name
        if kept.disputes:
            disputes[title if title not in disputes else f"{title} ({both.row.id})"] = kept.disputes
        if mine is None:
            words.append(f"New here: '{title}' with {_entries(len(both.events))}.")
        elif _content(mine) != _content(both):
            words.append(_gained(mine, both, other))
        else:
            continue
        changed.append(both)
    if changed:
        at = {whole.row.id: here[whole.row.id].row.revision for whole in changed if whole.row.id in here}
        benches.put_wholes(changed, at)
    else:
        words.append("Everything in this file is here already; nothing was changed.")
    return Joined(tuple(words), disputes, bool(changed))


def _content(whole: Whole) -> str:
    return exchange_text([whole])


def _gained(mine: Whole, both: Whole, other: Whole) -> str:
    new = len(both.events) - len(mine.events)
    taps = len(both.taps) - len(mine.taps)
    parts = [_entries(new)] if new else []
    parts += [counted(taps, "tap")] if taps else []
    parts += ["another recorded start"] if len(both.heads) > len(mine.heads) else []
    parts += ["entries that were written otherwise"] if len(both.variants) > len(mine.variants) else []
    renamed = f" It was called '{mine.row.name}' here." if mine.row.name != both.row.name else ""
    called = f" It is called '{other.row.name}' in the file." if other.row.name != both.row.name else ""
    return f"'{both.row.name}' gained {', '.join(parts) or 'what the file says of it'}.{renamed}{called}"


def _entries(number: int) -> str:
    return "1 entry" if number == 1 else f"{number} entries"


def _standing(whole: Whole, path: str, name: str) -> Kept:
    try:
        return kept_from(whole)
    except Refused as error:
        what, right, field = error.error.what, error.error.right, error.error.place.field
        raise SessionFileError(what, right, Place(file=name, field=_in(path, field))) from error
    except InputError as error:
        raise type(error)(error.what, error.right, Place(file=name, field=_in(path, error.place.field))) from error


def _in(path: str, field: str | None) -> str:
    return f"{path}: {field}" if field else path


def _check_taps(whole: Whole, path: str, name: str) -> None:
    """Every tap has the form of one."""
    for number, tap in enumerate(whole.taps, 1):
        place = Place(file=name, field=f"{path}.taps[{number}].body")
        try:
            tap_from(json.loads(tap.body))
        except InputError as error:
            raise type(error)(error.what, error.right, place) from error
        except (ValueError, RecursionError) as error:
            raise SessionFileError("what a tap says is no JSON", "take the file as it was written", place) from error
