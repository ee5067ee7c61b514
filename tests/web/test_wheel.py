"""The built wheel carries everything the page needs: installed apart from the source it opens."""

from __future__ import annotations

import os
import shutil
import site
import subprocess
import sys
import venv
import zipfile
from pathlib import Path

import pytest

from tests.web.server_process import ServerProcess

ROOT = Path(__file__).parents[2]
PACKAGE = ROOT / "src" / "spinewright"
BUILT = {".py", ".pyc", ".nbi", ".nbc"}


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("wheel")
    source = folder / "source"
    shutil.copytree(ROOT / "src", source / "src", ignore=shutil.ignore_patterns("__pycache__", "*.egg-info"))
    for name in ("pyproject.toml", "README.md", "LICENSE"):
        shutil.copy(ROOT / name, source / name)
    command = [sys.executable, "-m", "pip", "wheel", "-q", "--no-deps", "--no-build-isolation", "-w", str(folder), "."]
    subprocess.run(command, cwd=source, check=True, timeout=120, capture_output=True)  # noqa: S603
    [made] = folder.glob("*.whl")
    return made


def test_every_file_of_the_package_is_in_the_wheel(wheel: Path) -> None:
    with zipfile.ZipFile(wheel) as packed:
        inside = set(packed.namelist())
    wanted = {
        path.relative_to(PACKAGE.parent).as_posix()
        for path in PACKAGE.rglob("*")
        if path.is_file() and path.suffix not in BUILT - {".py"} and "__pycache__" not in path.parts
    }
    assert wanted <= inside, sorted(wanted - inside)
    assert "spinewright/web/static/page.css" in inside


def _unpacked_beside_the_libraries(wheel: Path, place: Path) -> None:
    """The wheel in an environment of its own with the libraries of where the tests run, which takes no minute more.

    Its own editable install is not there, since only .pth files say so.
    """
    venv.create(place, with_pip=False)
    [packages] = place.glob("lib/python*/site-packages")
    with zipfile.ZipFile(wheel) as packed:
        packed.extractall(packages)
    (packages / "libraries.pth").write_text("\n".join(site.getsitepackages()) + "\n")


def _installed_with_its_libraries(wheel: Path, place: Path) -> None:
    """The wheel and what it asks for in an environment of its own; uv, where `make` has put it, is much the quicker."""
    quick = Path(sys.executable).with_name("uv")
    venv.create(place, with_pip=not quick.exists())
    python = str(place / "bin" / "python")
    install = [str(quick), "pip", "install", "-q", "--python", python, str(wheel)]
    if not quick.exists():
        install = [python, "-m", "pip", "install", "-q", "--disable-pip-version-check", str(wheel)]
    subprocess.run(install, check=True, timeout=400, capture_output=True)  # noqa: S603


@pytest.mark.endurance
def test_installed_apart_from_the_source_it_opens_the_page(wheel: Path, tmp_path: Path) -> None:
    place = tmp_path / "env"
    python = place / "bin" / "python"
    if os.environ.get("SPINEWRIGHT_PAGE_TESTS") == "must":
        _installed_with_its_libraries(wheel, place)
    else:
        _unpacked_beside_the_libraries(wheel, place)
    where = subprocess.run(  # noqa: S603
        [str(python), "-c", "import spinewright; print(spinewright.__file__)"],
        cwd=tmp_path,
        check=True,
        timeout=60,
        capture_output=True,
        text=True,
    ).stdout
    assert Path(where.strip()).is_relative_to(place)
    with ServerProcess(tmp_path / "store", cwd=tmp_path, python=str(python)) as server:
        assert server.ask("PUT", "/api/benches/bdemo", {"from": "demo"})[0] == 200
        for path in ("/start", "/", "/b/bdemo", "/b/bdemo/line", "/b/bdemo/story", "/static/page.css"):
            status, text = server.ask("GET", path)
            assert status == 200, path
            assert text
        _, job = server.ask("POST", "/api/benches/bdemo/ask/sheet", {})
        assert job["state"] in ("waiting", "running", "done")
