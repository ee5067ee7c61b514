"""One reader under the fuzzer, in a process of its own because the fuzzer ends the process it runs in."""

from __future__ import annotations

import json
import sys
import time
from importlib.util import find_spec
from pathlib import Path

import atheris

_ROOMS_BELOW = ("mechanics", "flight", "belief", "outlook", "advice", "report", "web", "cli")


def _not_followed() -> list[str]:
    """Every module of the rooms that read nothing a person writes; much of it is compiled and cannot be followed."""
    package = find_spec("spinewright")
    folders = [] if package is None else list(package.submodule_search_locations or ())
    return [
        ".".join(("spinewright", *path.relative_to(folder).with_suffix("").parts)).removesuffix(".__init__")
        for folder in folders
        for room in _ROOMS_BELOW
        for path in sorted((Path(folder) / room).rglob("*.py"))
    ]


# The parser of TOML is only followed where the fuzzer has to find out what TOML is.
_FOLLOWED = ["spinewright", *(["tomllib"] if sys.argv[1:2] == ["session"] else [])]
with atheris.instrument_imports(include=_FOLLOWED, exclude=_not_followed()):
    from soak.bad_input.judging import fault_of
    from soak.bad_input.targets import TARGETS

__all__: list[str] = []

_SLOW = 2.0  # s of processor time for one input of at most some kilobytes


def main() -> None:
    """Arguments: the reader's name, seconds, seed, the folder of its corpus, the file of what is wrong."""
    name, seconds, seed, corpus, told = sys.argv[1:6]
    target = TARGETS[name]
    seen: set[str] = set()
    slowest = [0.0]
    wrong = Path(told)

    def one(data: bytes) -> None:
        began = time.process_time()
        fault = fault_of(lambda: target.read(data))
        took = time.process_time() - began
        slowest[0] = max(slowest[0], took)
        if fault is None and took > _SLOW:
            fault = f"one input of {len(data)} bytes took longer than {_SLOW:g} s"
        if fault is not None and fault not in seen:
            seen.add(fault)
            with wrong.open("a", encoding="utf-8") as file:
                file.write(json.dumps({"fault": fault, "input": data.decode("latin-1")}) + "\n")

    arguments = [
        sys.argv[0],
        corpus,
        f"-max_total_time={seconds}",
        f"-seed={seed}",
        f"-max_len={target.longest}",
        "-len_control=10",
        "-timeout=60",
        "-rss_limit_mb=3000",
        "-print_final_stats=1",
        "-verbosity=1",
    ]
    atheris.Setup(arguments, one)
    atheris.Fuzz()


if __name__ == "__main__":
    main()
