"""Runs the fuzzer over every reader for its share of the time, and counts what it did and found."""

from __future__ import annotations

import hashlib
import json
import re
import subprocess
import sys
from pathlib import Path

from numpy.random import Generator

from soak.bad_input.targets import TARGETS, Target
from soak.figures import Figures

__all__ = ["run"]

_ROOM = Path("out") / "soak"
_ABOUT = (
    "A fuzzer that follows which branches of the readers were reached changes good input byte by byte, or, for "
    "session files, spoils good ones line by line. Wrong is an exception outside the error tree, a number that is not "
    "finite in what was read, a refusal without field or line, one of more than 1500 characters or with characters "
    "that steer a screen, and one input that takes longer than 2 s."
)
_COLUMNS = ("reader", "minutes", "inputs tried", "branches reached", "kept as new", "faults")


def run(minutes: float, rng: Generator) -> Figures:
    """The figures of ``minutes`` of fuzzing, one reader after the other."""
    whole = sum(one.share for one in TARGETS.values())
    rows, faults = [], []
    for name, target in TARGETS.items():
        seconds = max(1, round(60.0 * minutes * target.share / whole))
        row, found = _tried(name, target, seconds, int(rng.integers(1, 2**31)))
        rows.append(row)
        faults += [f"{target.about}: {one}" for one in found]
    return Figures(_ABOUT, f"{minutes:g} minutes", _COLUMNS, tuple(rows), tuple(faults))


def _tried(name: str, target: Target, seconds: int, seed: int) -> tuple[tuple[str, ...], list[str]]:
    corpus, told = _ROOM / "corpus" / name, _ROOM / f"{name}.jsonl"
    corpus.mkdir(parents=True, exist_ok=True)
    told.unlink(missing_ok=True)
    for seed_input in target.seeds():
        (corpus / hashlib.sha256(seed_input).hexdigest()[:20]).write_bytes(seed_input)
    command = [sys.executable, "-m", "soak.bad_input.child", name, str(seconds), str(seed), str(corpus), str(told)]
    ended = subprocess.run(command, capture_output=True, check=False, timeout=seconds + 300.0)  # noqa: S603 - our own
    said = ended.stderr.decode("utf-8", "replace")
    lines = told.read_text(encoding="utf-8").splitlines() if told.exists() else []
    faults = [_fault(json.loads(line)) for line in lines]
    if ended.returncode != 0:
        faults.append(f"the process ended with {ended.returncode}: {said[-300:]}")
    tried, reached = _last(said, r"stat::number_of_executed_units:\s*(\d+)"), _last(said, r"cov: (\d+)")
    new = _last(said, r"stat::new_units_added:\s*(\d+)")
    return (target.about, f"{seconds / 60.0:.1f}", tried, reached, new, str(len(faults))), faults


def _fault(told: dict[str, str]) -> str:
    """The fault, and where its input was put so that it can be tried again."""
    data = told["input"].encode("latin-1")
    place = _ROOM / "faults" / hashlib.sha256(data).hexdigest()[:12]
    place.parent.mkdir(parents=True, exist_ok=True)
    place.write_bytes(data)
    return f"{told['fault']} (its input is in {place})"


def _last(said: str, pattern: str) -> str:
    found = re.findall(pattern, said)
    return f"{int(found[-1]):,}" if found else "not said"
