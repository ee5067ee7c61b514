"""The world knows nothing of the product's mechanics, flight, belief, advice or outlook."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parents[2]
CLOSED = ("mechanics", "flight", "belief", "advice", "outlook", "workflow")


def test_importing_the_world_loads_nothing_that_it_may_not_know() -> None:
    program = "import sys, benchmarks.virtual_range.world.worlds; print(*sys.modules)"
    command = [sys.executable, "-c", program]
    answer = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=True)  # noqa: S603 - our own words
    loaded = answer.stdout.split()
    assert "spinewright.equipment" in loaded
    assert not [m for m in loaded if m.startswith(tuple(f"spinewright.{name}" for name in CLOSED))]


def test_no_line_of_the_world_names_them() -> None:
    files = sorted((ROOT / "benchmarks" / "virtual_range" / "world").glob("*.py"))
    assert len(files) >= 8
    for path in [*files, ROOT / "benchmarks" / "virtual_range" / "hand_rule.py"]:
        text = path.read_text(encoding="utf-8")
        assert not [name for name in CLOSED if f"spinewright.{name}" in text], path.name
