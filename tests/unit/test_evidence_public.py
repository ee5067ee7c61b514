"""The public list of the evidence room is exact, its front door is light, and what is public names its place."""

from __future__ import annotations

import importlib
import pkgutil
import re
import subprocess
import sys
from pathlib import Path

import pytest

import spinewright.evidence


def test_every_module_has_an_exact_public_list() -> None:
    for found in pkgutil.iter_modules(spinewright.evidence.__path__):
        module = importlib.import_module(f"spinewright.evidence.{found.name}")
        defined = {
            name
            for name, value in vars(module).items()
            if not name.startswith("_") and getattr(value, "__module__", None) == module.__name__
        }
        assert defined <= set(module.__all__), found.name
        assert all(hasattr(module, name) for name in module.__all__), found.name
    assert len(set(spinewright.evidence.__all__)) == len(spinewright.evidence.__all__)
    assert all(hasattr(spinewright.evidence, name) for name in spinewright.evidence.__all__)


def test_the_example_of_the_model_page_runs(capsys: pytest.CaptureFixture[str]) -> None:
    page = Path(__file__).parents[2] / "docs" / "model" / "evidence.md"
    examples = re.findall(r"```python\n(.*?)```", page.read_text(encoding="utf-8"), flags=re.DOTALL)
    assert examples
    for example in examples:
        exec(example, {})  # noqa: S102 - our own page
    assert "bare holes left and high" in capsys.readouterr().out


def test_importing_it_does_not_import_scipy() -> None:
    code = (
        "import sys, spinewright.evidence; print(sorted({m.split('.')[0] for m in sys.modules} & {'scipy', 'numba'}))"
    )
    out = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)  # noqa: S603 - our own
    assert out.stdout.strip() == "[]"
