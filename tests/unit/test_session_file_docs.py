"""The reference of the session file tells every key as the reader knows it, and its example runs."""

from __future__ import annotations

import re
from collections.abc import Iterator
from enum import StrEnum
from pathlib import Path

import pytest

from spinewright.logbook import EVENT_HEAD, EVENTS, ROOT, Key, parse, replay
from spinewright.logbook.keys import Form
from spinewright.units import Kind

REFERENCE = Path(__file__).parents[2] / "docs" / "session-file.md"


def form_words(key: Key) -> str:
    if isinstance(key.form, Form):
        return key.form.value
    if isinstance(key.form, Kind):
        return str(key.form)
    assert issubclass(key.form, StrEnum)
    return "one of " + ", ".join(f"`{word}`" for word in key.form)


def row(key: Key) -> str:
    example = f"`{key.example}`" if key.example else ""
    return f"| `{key.name}` | {form_words(key)} | {'yes' if key.needed else ''} | {key.what} | {example} |"


def tables(keys: tuple[Key, ...], path: str) -> Iterator[tuple[str, tuple[Key, ...]]]:
    """(heading, keys) of a section and of all sections below it."""
    yield path, keys
    for key in keys:
        if key.keys:
            yield from tables(key.keys, f"{path}.{key.name}" if path else key.name)


def documented() -> dict[str, list[str]]:
    """Rows of the table under each heading of the reference."""
    found: dict[str, list[str]] = {}
    heading = ""
    for line in REFERENCE.read_text(encoding="utf-8").splitlines():
        if line.startswith("#"):
            heading = line.lstrip("# ").strip("`")
        elif line.startswith("| `"):
            found.setdefault(heading, []).append(line)
    return found


def expected() -> dict[str, list[str]]:
    wanted = {"The file": [row(key) for key in ROOT]}
    for key in ROOT:
        wanted |= {path: [row(one) for one in keys] for path, keys in tables(key.keys, key.name) if keys}
    wanted["Every event"] = [row(key) for key in EVENT_HEAD]
    # parts of the arrow have the same keys wherever they are written, so they are told once
    told_once = {"shaft", "nock", "bushing", "wrap", "insert", "collar", "vanes", "rest", "draw_readings"}
    for kind, keys in EVENTS.items():
        for path, inside in tables(keys, kind):
            if path.rpartition(".")[2] not in told_once and inside:
                wanted[path] = [row(key) for key in inside]
    for path in ("arrow.bushing", "arrow.wrap", "arrow.insert", "arrow.collar", "owned.shafts"):
        del wanted[path]
    return wanted


def test_every_key_is_documented_as_it_is() -> None:
    assert documented() == expected()


def test_every_kind_of_event_has_its_heading() -> None:
    headings = re.findall(r"^### `(.+)`$", REFERENCE.read_text(encoding="utf-8"), re.MULTILINE)
    assert [kind for kind in headings if kind in EVENTS] == list(EVENTS)


@pytest.mark.parametrize("number", [0, 1])
def test_every_example_runs(number: int) -> None:
    blocks = re.findall(r"```toml\n(.*?)```", REFERENCE.read_text(encoding="utf-8"), re.DOTALL)
    assert len(blocks) == 2
    state = replay(parse(blocks[0] if number == 0 else blocks[0] + blocks[1]))
    assert len(state.history.seen) == 2
    assert not state.cautions
