"""The 'serve' command: opens the bench page on this machine, and to phones when asked."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from spinewright.cli.printing import rows, say, sentences

if TYPE_CHECKING:
    from spinewright.web.serving import Address

__all__ = ["serve"]

_PORT = 8470
Store = Annotated[
    str | None,
    typer.Option(
        "--store", help="Folder of the benches, or a PostgreSQL address; else the usual place.", metavar="FOLDER|URL"
    ),
]
_SCAN = (
    "Scan this with a phone on the same network. It lets one device in and is good for a few minutes; the next code "
    "stands at {}/join, where devices are taken off too:"
)


def serve(
    port: Annotated[int, typer.Option("--port", help="The next free one is taken.", min=0, max=65535)] = _PORT,
    share: Annotated[bool, typer.Option("--share", help="Let phones on this network join by a code.")] = False,
    store: Store = None,
    bench: Annotated[
        Path | None,
        typer.Option("--bench", help="A session file to bring along as a bench.", metavar="FILE"),
    ] = None,
    browser: Annotated[bool, typer.Option("--browser", help="Open it in the browser as well.")] = False,
    check: Annotated[bool, typer.Option("--check", help="Try who gets in, and say so line by line.")] = False,
) -> None:
    """Open the bench page: on this machine, and with --share on phones."""
    if check:
        _check(port)
        return
    from spinewright.web.serving import serve as run

    def told(address: Address) -> None:
        _say(address)
        if browser:
            import webbrowser

            webbrowser.open(address.local)

    run(store, port, share=share, told=told, bench=bench)


def _check(port: int) -> None:
    """Exit code 1 when somebody gets in who should not, or a phone that joined does not."""
    from spinewright.web.self_check import check_door

    report = check_door(port)
    lines = [report.about, ""]
    for one in report.attempts:
        lines += rows([(one.outcome, f"{one.words}: {one.got}" + ("" if one.passed else f", not {one.wanted}"))])
    failed = [one for one in report.attempts if not one.passed]
    last = f"{len(failed)} FAILED." if failed else "Nobody got in who should not."
    say([*lines, "", f"{len(report.attempts) - len(failed)} of {len(report.attempts)} PASSED. {last}"])
    if failed:
        raise typer.Exit(1)


def _say(address: Address) -> None:
    lines = [f"The bench page is at {address.local}/", *sentences(["Ctrl-C ends it; everything tapped in is kept."])]
    if address.join:
        import segno

        code = segno.make(address.join, error="m")
        lines += ["", *sentences([_SCAN.format(address.local)]), ""]
        lines += [line for line in _blocks(code.matrix) if line]
        lines += ["", f"  {address.join}"]
    say(lines)


def _blocks(matrix: tuple[bytearray, ...]) -> list[str]:
    """The code in half blocks, light on dark, with the quiet zone that readers need."""
    width = len(matrix[0]) + 8
    rows = [[0] * width] * 4 + [[0] * 4 + list(row) + [0] * 4 for row in matrix] + [[0] * width] * 4
    rows += [[1] * width] * (len(rows) % 2)
    pairs = zip(rows[::2], rows[1::2], strict=True)
    marks = {(0, 0): "█", (0, 1): "▀", (1, 0): "▄", (1, 1): " "}
    return ["".join(marks[int(bool(a)), int(bool(b))] for a, b in zip(*pair, strict=True)) for pair in pairs]
