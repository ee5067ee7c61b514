"""The commands of spinewright with their options; each calls one task and lays out what comes back."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from spinewright import __version__
from spinewright.cli.around import add_tasks
from spinewright.cli.backup import backup, restore
from spinewright.cli.exchange import export, import_
from spinewright.cli.faults import Face
from spinewright.cli.log import log_app
from spinewright.cli.printing import heading, rows, say, say_json, sentences
from spinewright.cli.serve import serve
from spinewright.cli.waiting import waiting
from spinewright.units import Hand, System

__all__ = ["app", "main"]

app = typer.Typer(
    name="spinewright",
    cls=Face,
    help="Find, prove and reproduce the arrow that forgives most on one bow.",
    no_args_is_help=True,
    add_completion=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    context_settings={"help_option_names": ["--help", "-h"], "max_content_width": 80},
)
app.add_typer(log_app, name="log")
app.command()(serve)
app.command()(backup)
app.command()(restore)
app.command()(export)
app.command("import")(import_)

File = Annotated[Path, typer.Argument(help="The session file.", metavar="FILE", show_default=False)]
AsJson = Annotated[bool, typer.Option("--json", help="Print one JSON object instead of text.")]


def _version(wanted: bool) -> None:
    if wanted:
        typer.echo(f"spinewright {__version__}")
        raise typer.Exit


@app.callback()
def _spinewright(
    version: Annotated[
        bool, typer.Option("--version", help="Print the version and stop.", callback=_version, is_eager=True)
    ] = False,
) -> None:
    del version


@app.command()
def new(
    file: File,
    hand: Annotated[Hand, typer.Option("--hand", help="The hand that draws the string.")] = Hand.RIGHT,
    units: Annotated[System, typer.Option("--units", help="How numbers are printed.")] = System.INCH,
    example: Annotated[bool, typer.Option("--example", help="Fill in an invented bow and arrow.")] = False,
    as_json: AsJson = False,
) -> None:
    """Start a commented session file to fill in by hand."""
    from spinewright.workflow import new_session

    started = new_session(file, hand, units, example=example)
    if as_json:
        say_json(started.to_json())
        return
    say([f"Started {started.path} ({started.hand}-handed, {started.system}).", *sentences(started.then)])


@app.command()
def sheet(
    file: File,
    picture: Annotated[
        Path | None, typer.Option("--picture", help="Draw it into this PNG as well.", metavar="PNG")
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Print the build sheet: settings, figures, changes, how to put it all back."""
    from spinewright.cli.sheet_text import sheet_lines
    from spinewright.workflow import sheet as make_sheet

    made = make_sheet(file)
    if picture is not None:
        from spinewright.report import draw_sheet

        draw_sheet(made.build, picture, made.voice.system, made.voice.hand, subject=made.subject, blocks=made.blocks)
    _show(made.to_json() if as_json else sheet_lines(made), picture)


@app.command("next")
def next_(
    file: File,
    everything: Annotated[
        bool, typer.Option("--all", help="The best other moves as well, and what may not be done now with its reasons.")
    ] = False,
    bows: Annotated[
        int, typer.Option("--bows", help="Plausible bows that are thought through.", min=50, max=5000)
    ] = 500,
    as_json: AsJson = False,
) -> None:
    """Say what it most likely is, and the one next move."""
    from spinewright.cli.next_text import next_lines
    from spinewright.workflow import next_move, settings_for

    with waiting("Thinking it through") as progress:
        found = next_move(file, settings=settings_for(bows), progress=progress)
    _show(found.to_json() if as_json else next_lines(found, str(file), everything=everything))


@app.command("map")
def map_(
    file: File,
    picture: Annotated[
        Path | None, typer.Option("--picture", help="Draw both maps into this PNG.", metavar="PNG")
    ] = None,
    distance: Annotated[
        str | None, typer.Option("--distance", help="For this distance, '50 yd'; else where you test.", metavar="TEXT")
    ] = None,
    face: Annotated[
        str,
        typer.Option("--face", help="Count points on this face, '40 cm'; else the face of your score.", metavar="TEXT"),
    ] = "",
    bows: Annotated[
        int, typer.Option("--bows", help="Plausible bows that shoot every build of the map.", min=20, max=1000)
    ] = 40,
    mistakes: Annotated[
        list[str] | None,
        typer.Option("--mistakes", help="Of whom, 'expert', or a size, 'creep: 1/8 in' (repeat).", metavar="TEXT"),
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Say what forgives on this bow: your own mistakes, and heads and differences between arrows."""
    from spinewright.cli.map_text import map_lines
    from spinewright.workflow import forgiveness_map, map_wishes
    from spinewright.workflow.mistake_sizes import said_mistakes

    level, sizes = said_mistakes(mistakes or [])
    wishes = map_wishes(distance=distance, face=face, bows=bows, level=level, sizes=sizes)
    with waiting("Shooting every build of the map") as progress:
        found = forgiveness_map(file, wishes, progress=progress)
    if picture is not None:
        from spinewright.report import draw_map

        system, hand = found.voice.system, found.voice.hand
        draw_map(found.chart, picture, system, hand, own=found.own, heads=found.heads)
    _show(found.to_json() if as_json else map_lines(found), picture)


def _show(what: dict[str, object] | list[str], picture: Path | None = None) -> None:
    """Print an object, or lines and the name of the picture that was drawn."""
    if isinstance(what, dict):
        say_json(what)
        return
    say([*what, *([f"\nDrawn: {picture}"] if picture is not None else [])])


@app.command()
def doctor(as_json: AsJson = False) -> None:
    """Print versions and paths, and whether everything needed is there."""
    from spinewright.workflow import doctor as look

    found = look()
    if as_json:
        say_json(found.to_json())
    else:
        libraries = [(name, version or "not installed") for name, version in found.libraries]
        checks = [(c.name, f"{'in order' if c.ok else 'NOT in order'}: {c.found}") for c in found.checks]
        say(
            [
                f"spinewright {found.version}, Python {found.python}, {found.machine}, {found.cores} cores",
                *heading("Checks", rows(checks)),
                *heading("Libraries", rows(libraries)),
                *heading("Paths", [f"  {name}: {path}" for name, path in found.paths]),
            ]
        )
    if not found.ok:
        raise typer.Exit(1)


add_tasks(app)


def main() -> None:
    """Run the command line."""
    app()
