"""The last figures of every part in one JSON file, so that parts can be run apart and the page holds all."""

from __future__ import annotations

import json
import os
import platform
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from datetime import UTC, datetime
from importlib.metadata import version
from pathlib import Path
from typing import Any

from soak.figures import Figures

__all__ = ["KEPT", "Kept", "keep", "kept", "stamped"]

#: Beside the page and kept with it, so that one part can be run anew on another machine.
KEPT = Path("docs") / "reliability.json"
_LIBRARIES = ("spinewright", "numpy", "fastapi", "starlette", "hypothesis", "schemathesis")


@dataclass(frozen=True, slots=True)
class Kept:
    """Figures with the day they were found, the machine, the versions, the seed and how long it took [s]."""

    figures: Figures
    day: str
    machine: str
    versions: str
    seed: int
    seconds: float


def stamped(figures: Figures, seed: int, seconds: float) -> Kept:
    """``figures`` of a run that ended now, on this machine."""
    day = datetime.now(UTC).date().isoformat()
    versions = [f"Python {platform.python_version()}", *(f"{name} {version(name)}" for name in _LIBRARIES)]
    machine = f"{platform.system()} {platform.machine()}, {os.cpu_count()} processors"
    return Kept(figures, day, machine, ", ".join(versions), seed, seconds)


def kept(path: Path = KEPT) -> dict[str, Kept]:
    """What was kept of every part; {} where nothing was."""
    if not path.exists():
        return {}
    return {name: _read(one) for name, one in json.loads(path.read_text(encoding="utf-8")).items()}


def keep(found: Mapping[str, Kept], path: Path = KEPT) -> None:
    """Keep ``found`` in the place of what was kept of those parts; the other parts stay."""
    path.parent.mkdir(parents=True, exist_ok=True)
    both = {name: asdict(one) for name, one in {**kept(path), **found}.items()}
    new = path.with_suffix(".new")
    new.write_text(json.dumps(both, indent=1, ensure_ascii=False), encoding="utf-8")
    new.replace(path)


def _read(one: dict[str, Any]) -> Kept:
    figures = one.pop("figures")
    rows = tuple(tuple(row) for row in figures["rows"])
    read = Figures(figures["about"], figures["amount"], tuple(figures["columns"]), rows, tuple(figures["faults"]))
    return Kept(read, **one)
