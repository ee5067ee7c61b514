"""The commands 'backup' and 'restore': all benches into one file, and back into a folder that has none."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from spinewright.cli.printing import command, say, sentences

__all__ = ["backup", "restore"]

Copy = Annotated[Path, typer.Argument(help="The file of the backup.", metavar="FILE", show_default=False)]
Folder = Annotated[
    str | None, typer.Option("--store", help="Folder of the benches; else the usual place.", metavar="FOLDER")
]


def backup(file: Copy, store: Folder = None) -> None:
    """Copy all benches into one new file; the page may stay open."""
    from spinewright.workflow.benches.backups import back_up_benches

    made = back_up_benches(file, store)
    say(
        [
            f"Backed up: {made.words}.",
            *sentences([f"From {made.folder} into {file}, as it all was at one moment. Keep it on another disk."]),
            *sentences(["This puts it into a folder that has no benches yet:"]),
            *command(f"spinewright restore {file} --store FOLDER"),
        ]
    )


def restore(file: Copy, store: Folder = None) -> None:
    """Put the benches of a backup into a folder that has none."""
    from spinewright.workflow.benches.backups import restore_benches

    made = restore_benches(file, store)
    say(
        [
            f"Restored: {made.words}.",
            *sentences(
                [
                    f"From {file} into {made.folder}. Devices that were taken off since that backup may come in again: "
                    "look at 'Join with a phone' and take them off once more."
                ]
            ),
            *command("spinewright serve" + ("" if store is None else f" --store {store}")),
        ]
    )
