"""How soon the command line answers: ``--help`` as a whole process, beside one that imports only what parses it."""

from __future__ import annotations

import resource
import subprocess
import sys

__all__ = ["rows"]

_TIMES = 7


def rows() -> list[tuple[str, str]]:
    """Processor seconds, the least of several, which other work on the machine lengthens least."""
    parser = _least("-c", "import typer")
    answered = _least("-m", "spinewright.cli", "--help")
    return [
        ("--help, processor time (budget 0.3 s)", f"{answered:.2f} s"),
        ("  against a process that only imports the parser", f"{answered / parser:.1f} times"),
    ]


def _least(*args: str) -> float:
    found = []
    for _ in range(_TIMES):
        before = resource.getrusage(resource.RUSAGE_CHILDREN)
        subprocess.run([sys.executable, *args], capture_output=True, check=True)  # noqa: S603 - our own program
        after = resource.getrusage(resource.RUSAGE_CHILDREN)
        found.append(after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime)
    return min(found)
