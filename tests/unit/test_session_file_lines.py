"""Finding the line of a key in the text of a session file."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from spinewright.logbook.lines import line_of

DATA = Path(__file__).parents[1] / "data"
BARE_SESSION = (DATA / "invented_bench.toml").read_text(encoding="utf-8")
FULL_SESSION = BARE_SESSION + (DATA / "invented_events.toml").read_text(encoding="utf-8")

TEXT = '''\
# a.b = "not a key"
a = "x = 1 # not a comment" # c = 2
[one]   # a section
b = """
[not.a.section]
c = "nor a key"
"""
c = 'it''s'
d.e = 3
list = [
  1, # first
  "two",
  [3,
   4],
]
[one.two]
"b b" = { x = 1, y = [5, 6], z = { w = 2 } }
[[many]]
k = 1
[many.sub]
k = 2
[[many]]
rows = [ { r = 1 }, { r = 2 },
  { s = "}", r = 3 },
]
[[many.deep]]
k = 9
[[many.deep]]
k = 10
'''.replace("'it''s'", "'it'")


@pytest.mark.parametrize(
    ("path", "piece"),
    [
        ("a", 'a = "x'),
        ("one", "[one]"),
        ("one.b", 'b = """'),
        ("one.c", "c = 'it'"),
        ("one.d.e", "d.e"),
        ("one.list[1]", "1, # first"),
        ("one.list[2]", '"two"'),
        ("one.list[3]", "[3,"),
        ("one.two.b b", '"b b"'),
        ("one.two.b b.z.w", '"b b"'),
        ("many[1]", "[[many]]"),
        ("many[1].k", "k = 1"),
        ("many[1].sub.k", "k = 2"),
        ("many[2].rows", "rows"),
        ("many[2].rows[2].r", "rows"),
        ("many[2].rows[3].r", '{ s = "}"'),
        ("many[2].deep[2].k", "k = 10"),
        ("many[2].deep[2].gone", None),
        ("one.gone", "[one]"),
        ("one.two.gone.further", "[one.two]"),
    ],
)
def test_lines_of_a_tricky_text(path: str, piece: str | None) -> None:
    lines = TEXT.splitlines()
    found = line_of(TEXT, path)
    assert found is not None
    wanted = (
        len(lines) - 1
        if piece is None
        else next(n for n, line in enumerate(lines, 1) if line.strip().startswith(piece))
    )
    assert found == wanted


def test_what_is_not_there_at_all_has_no_line() -> None:
    assert line_of(TEXT, "gone") is None
    assert line_of("", "gone.x[3]") is None


def paths(value: object, path: str) -> list[str]:
    """Every path of a parsed file."""
    found = [path] if path else []
    if isinstance(value, dict):
        for name, one in value.items():
            found += paths(one, f"{path}.{name}" if path else name)
    elif isinstance(value, list):
        for number, one in enumerate(value, 1):
            found += paths(one, f"{path}[{number}]")
    return found


def test_every_path_of_a_whole_session_is_found_where_its_key_stands() -> None:
    lines = FULL_SESSION.splitlines()
    for path in paths(tomllib.loads(FULL_SESSION), ""):
        line = line_of(FULL_SESSION, path)
        assert line is not None
        name = path.rpartition(".")[2].partition("[")[0]
        if not path.endswith("]"):
            assert name in lines[line - 1], path


@given(st.text(alphabet="ab=.,[]{}\"'#\n\\ 1", max_size=80), st.sampled_from(["a", "a.b", "a[1].b", "b[2]"]))
def test_it_never_fails(text: str, path: str) -> None:
    line = line_of(text, path)
    assert line is None or 1 <= line <= text.count("\n") + 1
