"""Versions, paths and whether everything this program needs is there."""

from __future__ import annotations

import os
import platform
import sys
from dataclasses import dataclass
from importlib import metadata, resources
from pathlib import Path

from spinewright import __version__
from spinewright.logbook.places import STORE_NAME, bench_folder, is_address, named_store, without_password
from spinewright.workflow.schemas import SCHEMAS
from spinewright.workflow.showing import Json, headed
from spinewright.workflow.solvers import cache_folder, prepared

__all__ = ["Check", "Doctor", "doctor"]

LIBRARIES = (
    *("numpy", "scipy", "numba", "tomlkit", "typer", "rich", "platformdirs", "matplotlib"),
    *("sqlalchemy", "alembic", "fastapi", "uvicorn", "jinja2", "segno", "typst"),
)


_PAGE_FILES = ("templates/bench.html", "templates/line.html", "static/page.css")


@dataclass(frozen=True, slots=True)
class Check:
    """One thing that was looked at: in order or not, and what was found or what to do."""

    name: str
    ok: bool
    found: str


@dataclass(frozen=True, slots=True)
class Doctor:
    """What is installed where. ``libraries`` maps names to versions, None = not installed."""

    version: str
    python: str
    machine: str
    cores: int
    libraries: tuple[tuple[str, str | None], ...]
    paths: tuple[tuple[str, str], ...]
    checks: tuple[Check, ...]

    @property
    def ok(self) -> bool:
        """Whether everything that must be there is there."""
        return all(check.ok for check in self.checks)

    def to_json(self) -> Json:
        """The result by ``schema/doctor.json``."""
        body: Json = {
            "ok": self.ok,
            "spinewright": self.version,
            "python": self.python,
            "machine": self.machine,
            "cores": self.cores,
            "libraries": dict(self.libraries),
            "paths": dict(self.paths),
            "checks": [{"name": c.name, "ok": c.ok, "found": c.found} for c in self.checks],
        }
        return headed("doctor", 1, body)


def doctor() -> Doctor:
    """Look at versions, paths and package files; nothing is computed and nothing is written."""
    libraries = tuple((name, _version(name)) for name in LIBRARIES)
    package = str(resources.files("spinewright"))
    return Doctor(
        version=__version__,
        python=platform.python_version(),
        machine=f"{platform.system()} {platform.machine()}",
        cores=os.cpu_count() or 1,
        libraries=libraries,
        paths=(
            ("package", package),
            ("python", sys.executable),
            ("cache", str(cache_folder())),
            ("benches", _benches_at()),
        ),
        checks=(_python(), _installed(libraries), _files(), _solvers(), _benches()),
    )


def _version(name: str) -> str | None:
    try:
        return metadata.version(name)
    except metadata.PackageNotFoundError:
        return None


def _python() -> Check:
    enough = sys.version_info >= (3, 11)
    return Check("Python", enough, "3.11 or newer" if enough else "install Python 3.11 or newer")


def _installed(libraries: tuple[tuple[str, str | None], ...]) -> Check:
    missing = [name for name, version in libraries if version is None]
    return Check("libraries", not missing, f"install {', '.join(missing)}" if missing else "all installed")


def _files() -> Check:
    folder = resources.files("spinewright.workflow") / "schema"
    missing = [name for name in SCHEMAS if not (folder / f"{name}.json").is_file()]
    page = resources.files("spinewright") / "web"
    missing += [f"web/{name}" for name in _PAGE_FILES if not (page / name).is_file()]
    return Check(
        "package files", not missing, f"missing: {', '.join(missing)}; install again" if missing else "complete"
    )


def _benches_at() -> str:
    named = named_store()
    return without_password(named) if named and is_address(named) else str(bench_folder())


def _benches() -> Check:
    """Whether the page could keep benches where it would; nothing is made, and no server is asked."""
    if is_address(named_store() or ""):
        driver = _version("psycopg")
        missing = "install the driver: pip install 'spinewright[postgresql]'"
        return Check("benches", driver is not None, "on a server; 'serve' asks it" if driver else missing)
    folder = bench_folder()
    parent = next((p for p in (folder, *folder.parents) if p.exists()), Path("/"))
    if not (parent.is_dir() and os.access(parent, os.W_OK)):
        return Check("benches", False, f"{parent} cannot be written; name another folder with 'serve --store'")
    if not (folder / STORE_NAME).is_file():
        return Check("benches", True, "none yet; 'serve' makes the first")
    return Check("benches", True, f"kept in {STORE_NAME}, a dated copy of each day in backups")


def _solvers() -> Check:
    if prepared():
        return Check("solvers", True, "prepared on this machine")
    folder = cache_folder()
    parent = next((p for p in (folder, *folder.parents) if p.exists()), Path("/"))
    if not os.access(parent, os.W_OK):
        return Check("solvers", False, f"{parent} cannot be written, so the solvers are prepared anew at every start")
    return Check("solvers", True, "not prepared yet; the first 'next' or 'map' does it, once, in a minute or two")
