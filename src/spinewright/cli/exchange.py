"""The commands 'export' and 'import': a whole logbook into one file, and joined with another one."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from spinewright.cli.printing import heading, listing, say, sentences
from spinewright.cli.serve import Store

__all__ = ["export", "import_"]

File = Annotated[Path, typer.Argument(help="The logbook file.", metavar="FILE", show_default=False)]


def export(file: File, store: Store = None) -> None:
    """Write the whole logbook into one new file, for another one to join."""
    from spinewright.workflow.benches import open_benches
    from spinewright.workflow.benches.joining import export_file

    benches = open_benches(store)
    try:
        many = export_file(benches, file)
    finally:
        benches.close()
    said = f"{'1 bench' if many == 1 else f'{many} benches'} written to {file}."
    say([said, *sentences(["'spinewright import' joins it with another logbook, as often as you like."])])


def import_(file: File, store: Store = None) -> None:
    """Join the logbook in a file with the one here, all of it or nothing."""
    from spinewright.workflow.benches import served_benches
    from spinewright.workflow.benches.joining import import_file

    with served_benches(store) as benches:
        found = import_file(benches, file)
    lines = [*listing(found.words)]
    for bench, words in found.disputes.items():
        lines += heading(f"Does not go together, {bench}:", listing(words))
    say(lines)
