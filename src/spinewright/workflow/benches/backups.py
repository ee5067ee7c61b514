"""A backup of all benches into one file while the page goes on, and back into a folder that has none."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from spinewright.errors import StoreError
from spinewright.logbook.store import located, sole_keeper
from spinewright.logbook.store.copying import Copied, copy_back, copy_out

__all__ = ["BackedUp", "back_up_benches", "restore_benches"]

_ON_A_SERVER = (
    "benches on a PostgreSQL server are backed up and put back by the server's own means (pg_dump, pg_restore); "
    "nothing was done."
)


@dataclass(frozen=True, slots=True)
class BackedUp:
    """What was copied, out of or into ``folder``."""

    folder: Path
    held: Copied

    @property
    def words(self) -> str:
        """How much it is."""
        held = self.held
        counted = ((held.benches, "bench", "benches"), (held.events, "entry", "entries"), (held.taps, "tap", "taps"))
        one, two, three = (f"{many:,} {name if many == 1 else names}" for many, name, names in counted)
        return f"{one} with {two} and {three}, {held.size / 1e6:.1f} MB"


def back_up_benches(file: Path, named: str | None = None) -> BackedUp:
    """All benches of the folder ``named`` (or the usual one) into a new ``file``. Raises StoreError, InputError."""
    folder = _folder(named)
    return BackedUp(folder, copy_out(folder, file))


def restore_benches(file: Path, named: str | None = None) -> BackedUp:
    """The benches of a backup into the folder ``named`` (or the usual one), which has none. Raises StoreError."""
    folder = _folder(named)
    with sole_keeper(folder):
        return BackedUp(folder, copy_back(file, folder))


def _folder(named: str | None) -> Path:
    place = located(named)
    if not isinstance(place, Path):
        raise StoreError(_ON_A_SERVER)
    return place
