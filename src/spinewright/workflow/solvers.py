"""Whether the compiled solvers were prepared on this machine before, so that a first, slow run can say so once."""

from __future__ import annotations

from contextlib import suppress
from importlib import metadata, resources
from pathlib import Path

from spinewright import __version__

__all__ = ["cache_folder", "mark_prepared", "prepared"]

_KERNELS = (
    ("mechanics", "stroke_kernel.py"),
    ("mechanics", "stroke_moment.py"),
    ("mechanics", "stroke_run.py"),
    ("mechanics", "one_sided.py"),
    ("flight", "kernel.py"),
    ("belief", "row_kernel.py"),
)


def cache_folder() -> Path:
    """Where this program keeps what can be made again."""
    import platformdirs

    return Path(platformdirs.user_cache_dir("spinewright", appauthor=False))


def prepared() -> bool:
    """Whether these very solvers ran on this machine before."""
    return _mark().is_file()


def mark_prepared() -> None:
    """Remember that the solvers ran; where that cannot be written, the next run says it again."""
    with suppress(OSError):
        _mark().parent.mkdir(parents=True, exist_ok=True)
        _mark().touch()


def _mark() -> Path:
    """A file whose name changes with whatever makes the solvers compile anew."""
    newest = 0
    for room, name in _KERNELS:
        with suppress(OSError, TypeError):
            newest = max(newest, Path(str(resources.files("spinewright") / room / name)).stat().st_mtime_ns)
    return cache_folder() / f"prepared-{__version__}-numba{metadata.version('numba')}-{newest:x}"
