"""Lays sentences out as calm text no wider than a terminal of 80 columns."""

from __future__ import annotations

import json
import os
import re
import sys
import textwrap
from collections.abc import Iterable, Sequence

import typer

from spinewright.errors import StoreError

__all__ = ["WIDTH", "columns", "command", "heading", "listing", "rows", "say", "say_json", "sentences"]

WIDTH = 79
_INDENT = "  "
_WORDS = re.compile(r'--\S+ "[^"]*"|"[^"]*"|\S+')


def say(lines: Iterable[str]) -> None:
    """Print ``lines`` as they are. Raises StoreError where they cannot be, which undoes nothing."""
    _print("\n".join(lines))


def say_json(result: dict[str, object]) -> None:
    """Print one result as an object. Raises StoreError as :func:`say` does."""
    _print(json.dumps(result, ensure_ascii=False, indent=2, allow_nan=False))


def _print(text: str) -> None:
    """A reader who has gone away misses the answer and no more: what was asked for is done by now."""
    try:
        typer.echo(text)
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())  # else the end of the program fails on it again
    except OSError as error:
        raise StoreError(
            f"the answer could not be printed ({error.strerror or error}); what was logged or written before it is "
            "kept."
        ) from error


def heading(title: str, body: Sequence[str]) -> list[str]:
    """A titled block with an empty line before it; nothing at all when there is nothing to say."""
    return ["", title, *body] if body else []


def sentences(parts: Iterable[str]) -> list[str]:
    """Whole sentences as one indented, wrapped paragraph."""
    text = " ".join(part for part in parts if part)
    return _wrapped(text, _INDENT, _INDENT)


def listing(parts: Iterable[str]) -> list[str]:
    """One wrapped item each, with a dash."""
    return [line for part in parts if part for line in _wrapped(part, _INDENT + "- ", _INDENT + "  ")]


def rows(pairs: Sequence[tuple[str, str]]) -> list[str]:
    """Label and value side by side; a long value is wrapped beside its label."""
    if not pairs:
        return []
    wide = min(max(len(label) for label, _ in pairs), 40)
    found = []
    for label, value in pairs:
        first = f"{_INDENT}{label.ljust(wide)}  "
        found += _wrapped(value, first, " " * len(first)) or [first.rstrip()]
    return found


def command(line: str) -> list[str]:
    """A command line as it can be pasted, broken between its words where it is wider than the screen."""
    found = [_INDENT]
    for word in _WORDS.findall(line):
        if len(found[-1]) + len(word) + 3 > WIDTH and found[-1].strip():
            found[-1] += " \\"
            found.append(2 * _INDENT)
        found[-1] += f" {word}" if found[-1].strip() else word
    return found


def columns(head: Sequence[str], body: Sequence[Sequence[str]]) -> list[str]:
    """A table with a heading; its first column is cut into lines where the table would be wider than the screen."""
    widths = [max(len(line[k]) for line in (head, *body)) for k in range(len(head))]
    room = WIDTH - len(_INDENT) - sum(widths[1:]) - 2 * (len(widths) - 1)
    widths[0] = min(widths[0], max(room, 16))
    found = []
    for line in (head, *body):
        first = textwrap.wrap(line[0], widths[0]) or [""]
        cells = [first[-1].ljust(widths[0]), *(cell.ljust(w) for cell, w in zip(line[1:], widths[1:], strict=True))]
        found += [_INDENT + part for part in first[:-1]]
        found.append((_INDENT + "  ".join(cells)).rstrip())
    return found


def _wrapped(text: str, first: str, other: str) -> list[str]:
    return textwrap.wrap(
        text, WIDTH, initial_indent=first, subsequent_indent=other, break_long_words=False, break_on_hyphens=False
    )
