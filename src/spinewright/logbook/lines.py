"""Finds the line of a key in the text of a session file, so that an error can name it; read only when one is raised.

The parser of the standard library gives values without their lines. This scanner knows just enough of TOML for that:
headers, keys, strings, comments and brackets. It never fails: what it cannot follow is found at the nearest line above.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

__all__ = ["line_of"]

_TOKEN = re.compile(
    r"""(?P<space>[ \t\r]+)
    | (?P<newline>\n)
    | (?P<comment>\#[^\n]*)
    | (?P<string>\"{3}(?:\\.|(?!\"{3}).)*\"{3,5} | '{3}(?:(?!'{3}).)*'{3,5} | "(?:\\.|[^"\\\n])*" | '[^'\n]*')
    | (?P<mark>[\[\]{}=,])
    | (?P<bare>[^\s\#"'\[\]{}=,]+)""",
    re.VERBOSE | re.DOTALL,
)
_HEADER = re.compile(r"^[ \t]*(?P<open>\[\[?)(?P<name>[^\[\]\n]+)\]\]?[ \t]*(?:\#[^\n]*)?$", re.MULTILINE)


def line_of(text: str, field: str) -> int | None:
    """The line, counted from 1, of the dotted path ``field`` ('bow.rest.kind', 'event[3].hits[2].hole').

    A key that is not written stands at its section; None where not even the section is written.
    """
    places = dict(_places(text))
    path = field
    while path:
        if path in places:
            return places[path]
        shorter = re.sub(r"(?:\.[^.\[\]]+|\[\d+\]|^[^.\[\]]+)$", "", path)
        path = shorter if shorter != path else ""
    return None


def _places(text: str) -> Iterator[tuple[str, int]]:
    """(path, line) of every section and key; the first mention of a path counts, so repeats come out reversed."""
    found: dict[str, int] = {}
    for path, line in _Scan(text).run():
        found.setdefault(path, line)
    yield from found.items()


class _Scan:
    """One pass over the tokens, keeping the path of the section and of every open bracket."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.counts: dict[str, int] = {}  # entries of each list of sections so far
        self.section = ""
        self.frames: list[tuple[str, str, int]] = []  # (bracket, path, entry) of every open bracket in a value
        self.key: list[str] = []
        self.in_value = False

    def run(self) -> Iterator[tuple[str, int]]:
        """(path, line) in the order of the text."""
        position, line = 0, 1
        while position < len(self.text):
            header = _HEADER.match(self.text, position) if self._at_line_start(position) else None
            if header is not None:
                yield from self._open_section(header, line)
                position = header.end()
                continue
            token = _TOKEN.match(self.text, position)
            if token is None:
                position += 1
                continue
            yield from self._take(token, line)
            line += token[0].count("\n")
            position = token.end()

    def _at_line_start(self, position: int) -> bool:
        return not self.frames and (position == 0 or self.text[position - 1] == "\n")

    def _open_section(self, header: re.Match[str], line: int) -> Iterator[tuple[str, int]]:
        self.key, self.in_value = [], False
        parts = [part.strip().strip("\"'") for part in header["name"].split(".")]
        path = ""
        for part in parts[:-1]:
            path = _joined(path, part)
            path = f"{path}[{self.counts[path]}]" if path in self.counts else path
        path = _joined(path, parts[-1])
        if header["open"] == "[[":
            yield path, line
            self.counts[path] = self.counts.get(path, 0) + 1
            path = f"{path}[{self.counts[path]}]"
        self.section = path
        yield path, line

    def _take(self, token: re.Match[str], line: int) -> Iterator[tuple[str, int]]:
        if token.lastgroup == "newline" and not self.frames:
            self.key, self.in_value = [], False
        elif token.lastgroup == "mark":
            yield from self._mark(token[0], line)
        elif token.lastgroup in ("bare", "string"):
            yield from self._word(token[0], line)

    def _word(self, word: str, line: int) -> Iterator[tuple[str, int]]:
        if not self.in_value:
            self.key.append(word.strip("\"'") if word[0] in "\"'" else word)
        elif self.frames and self.frames[-1][0] == "[":
            _, path, entry = self.frames[-1]
            yield f"{path}[{entry}]", line

    def _mark(self, mark: str, line: int) -> Iterator[tuple[str, int]]:
        if mark == "=" and not self.in_value:
            self.in_value = True
            yield self._path(), line
        elif mark in "[{" and self.in_value:
            path = self._path()
            if self.frames and self.frames[-1][0] == "[":
                yield path, line
            self.frames.append((mark, path, 1))
            self.key, self.in_value = [], mark == "["
        elif mark in "]}" and self.frames:
            self.frames.pop()
            self.key, self.in_value = [], True
        elif mark == "," and self.frames:
            bracket, path, entry = self.frames[-1]
            self.frames[-1] = (bracket, path, entry + 1)
            self.key, self.in_value = [], bracket == "["

    def _path(self) -> str:
        """The path of the key just read, or of the entry of the list that is open."""
        if not self.frames:
            return _joined(self.section, ".".join(self.key))
        bracket, path, entry = self.frames[-1]
        return f"{path}[{entry}]" if bracket == "[" else _joined(path, ".".join(self.key))


def _joined(path: str, name: str) -> str:
    return f"{path}.{name}" if path and name else path or name
