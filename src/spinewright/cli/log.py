"""The 'log' commands: one for each kind of entry, built from the table of their options."""

from __future__ import annotations

import inspect
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Annotated, Any

import typer

from spinewright.cli.log_options import LOG_KINDS, LogKind, Say, Takes
from spinewright.cli.printing import heading, listing, say, say_json, sentences

__all__ = ["log_app"]

log_app = typer.Typer(help="Add what was done or seen, and read it back.", no_args_is_help=True, rich_markup_mode=None)

_TYPES: dict[Takes, Any] = {
    Takes.TEXT: str | None,
    Takes.TEXTS: list[str] | None,
    Takes.WHOLE: int | None,
    Takes.YES: bool,
    Takes.STATE: bool | None,
    Takes.WORD: str,
}
_NEEDED_TYPES: dict[Takes, Any] = {Takes.TEXT: str, Takes.TEXTS: list[str], Takes.WHOLE: int, Takes.STATE: bool}
_SHOWN: dict[Takes, str] = {Takes.TEXT: "TEXT", Takes.TEXTS: "TEXT", Takes.WHOLE: "NUMBER"}
_EVERYWHERE = (
    Say("note", "--note", "Your own words."),
    Say("when", "--when", "When it was, 2026-05-03 or '2026-05-03 10:15'."),
    Say("as_json", "--json", "Print one JSON object instead of text.", Takes.YES),
)


@log_app.callback()
def _file(
    ctx: typer.Context,
    file: Annotated[Path, typer.Argument(help="The session file.", metavar="FILE", show_default=False)],
) -> None:
    """Add what was done or seen to FILE, and read it back."""
    ctx.obj = file


def _command(kind: LogKind) -> Callable[..., None]:
    """The command of one kind: typer reads its options from the signature."""
    options = (*kind.options, *_EVERYWHERE)

    def command(ctx: typer.Context, **said: Any) -> None:  # noqa: ANN401 - typer has checked each against its type
        _log(ctx.obj, kind, said)

    parameters = [inspect.Parameter("ctx", inspect.Parameter.POSITIONAL_OR_KEYWORD, annotation=typer.Context)]
    parameters += [_parameter(option) for option in options]
    command.__signature__ = inspect.Signature(parameters)  # type: ignore[attr-defined]
    command.__annotations__ = {p.name: p.annotation for p in parameters}
    command.__name__ = kind.command.replace("-", "_")
    command.__doc__ = kind.what
    return command


def _parameter(option: Say) -> inspect.Parameter:
    types = _NEEDED_TYPES if option.needed else _TYPES
    kind = types.get(option.takes, _TYPES[option.takes])
    if option.takes is Takes.WORD:
        info: Any = typer.Argument(help=option.what, metavar=option.flag.upper(), show_default=False)
    else:
        info = typer.Option(option.flag, help=option.what, show_default=False, metavar=_SHOWN.get(option.takes))
    default: Any = inspect.Parameter.empty
    if not option.needed:
        default = False if option.takes is Takes.YES else None
    return inspect.Parameter(
        option.key, inspect.Parameter.KEYWORD_ONLY, default=default, annotation=Annotated[kind, info]
    )


def _log(file: Path, kind: LogKind, said: dict[str, Any]) -> None:
    from spinewright.cli.log_entries import event_from
    from spinewright.workflow import log_event

    as_json = said.pop("as_json")
    event, sure = event_from(kind.event, said), bool(said.get("sure"))
    if kind.event == "cut" and not sure and at_terminal():
        sure = _asked(file, event)
    logged = log_event(file, event, sure=sure)
    if as_json:
        say_json(logged.to_json())
        return
    say(
        [
            f"Logged ({logged.kind}):",
            *listing(logged.said),
            *heading("Take care:", listing(logged.cautions)),
            *heading("Note:", sentences(logged.notices)),
        ]
    )


def at_terminal() -> bool:
    """Whether somebody sits there who can read a question and answer it."""
    return sys.stdin.isatty() and sys.stderr.isatty()


def _asked(file: Path, event: dict[str, Any]) -> bool:
    """Whether the person says yes to what the cut leaves; nothing is logged, and the run ends, when they do not."""
    from spinewright.workflow.cut_asked import cut_asked

    asked = cut_asked(file, event)
    typer.echo("\n".join([*heading("Before this cut is logged:", listing(asked.words)), ""]), err=True)
    question = "Is the set cut so, as everybody concerned agreed?"
    if not asked.allowed:
        question = "This cut should not be made. Was it made all the same, so that it has to be logged?"
    if not typer.confirm(question, default=False, err=True):
        typer.echo("Nothing was logged.", err=True)
        raise typer.Exit(1)
    return True


for _kind in LOG_KINDS:
    log_app.command(_kind.command, help=_kind.what, rich_help_panel=None)(_command(_kind))
