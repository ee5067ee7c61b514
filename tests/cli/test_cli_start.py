"""Starting the command line: how soon it answers, and what it leaves unloaded."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from spinewright import __version__

HEAVY = ("numpy", "scipy", "numba", "matplotlib", "pint", "tomlkit", "rich")


def _python(code: str) -> str:
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)  # noqa: S603
    return done.stdout


def test_importing_the_face_loads_nothing_heavy() -> None:
    loaded = _python(f"import sys, spinewright.cli; print([m for m in {HEAVY!r} if m in sys.modules])")
    assert loaded.strip() == "[]"


def test_help_loads_the_parser_and_nothing_else() -> None:
    # how long it takes is measured by 'make bench'; here is held what would lengthen it
    code = (
        "import sys\nbefore = set(sys.modules)\nfrom spinewright.cli import app\ntry:\n    app(['--help'])\n"
        "except SystemExit:\n    pass\n"
        "new = {name.split('.')[0] for name in set(sys.modules) - before} - set(sys.stdlib_module_names)\n"
        "print(sorted(new - {'spinewright', 'typer', 'click', 'shellingham', 'annotated_doc', 'typing_extensions'}))"
    )
    assert _python(code).strip().splitlines()[-1] == "[]"


def test_writing_down_a_shot_loads_no_solver(tmp_path: Path) -> None:
    file = str(tmp_path / "a.toml")
    code = (
        "import sys\nfrom spinewright.cli import app\n"
        f"for args in (['new', {file!r}, '--example'], ['log', {file!r}, 'good']):\n"
        "    try:\n        app(args)\n    except SystemExit as done:\n        assert not done.code, done.code\n"
        "print('numba' in sys.modules, 'matplotlib' in sys.modules)"
    )
    assert _python(code).strip().splitlines()[-1] == "False False"


@pytest.mark.parametrize("args", [["--version"], ["doctor", "--json"]])
def test_a_real_process_answers(args: list[str]) -> None:
    done = subprocess.run(  # noqa: S603
        [sys.executable, "-m", "spinewright.cli", *args], capture_output=True, text=True, check=True
    )
    assert __version__ in done.stdout
    assert done.stderr == ""
