"""Which installed distributions the program needs, all the way down, by what pyproject.toml declares."""

from __future__ import annotations

import tomllib
from collections.abc import Iterable
from importlib.metadata import Distribution, distribution
from pathlib import Path

from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

__all__ = ["PYPROJECT", "declared", "needed"]

PYPROJECT = Path(__file__).parents[1] / "pyproject.toml"


def declared(extras: Iterable[str] = ()) -> list[Requirement]:
    """What pyproject.toml declares that applies on this machine (installed metadata may be older than that file)."""
    project = tomllib.loads(PYPROJECT.read_text(encoding="utf-8"))["project"]
    lines = [*project["dependencies"], *(line for one in extras for line in project["optional-dependencies"][one])]
    return _that_apply(lines, "")


def needed(wanted: Iterable[Requirement]) -> dict[str, Distribution]:
    """The distributions behind ``wanted`` and whatever those need in turn, by canonical name.

    Raises PackageNotFoundError when something of it is not installed.
    """
    found: dict[str, Distribution] = {}
    seen: set[tuple[str, str]] = set()
    waiting = _named(wanted)
    while waiting:
        name, extra = waiting.pop()
        if (name, extra) in seen:
            continue
        seen.add((name, extra))
        there = found.setdefault(name, distribution(name))
        waiting += _named(_that_apply(there.requires or (), extra))
    return found


def _named(wanted: Iterable[Requirement]) -> list[tuple[str, str]]:
    """Names, each without an extra and with each of those that are asked for."""
    return [(canonicalize_name(one.name), extra) for one in wanted for extra in ("", *one.extras)]


def _that_apply(lines: Iterable[str], extra: str) -> list[Requirement]:
    read = [Requirement(line) for line in lines]
    return [one for one in read if one.marker is None or one.marker.evaluate({"extra": extra})]
