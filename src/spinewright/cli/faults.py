"""The one place where an error becomes a sentence on the screen, or an object for a program, and an exit code."""

from __future__ import annotations

import json
from collections.abc import Sequence
from contextlib import suppress
from typing import Any

import typer
from typer.core import TyperGroup

from spinewright.errors import SpinewrightError

__all__ = ["Face"]

# typer carries its own command parser, whose errors of use are reached through the one it exports
_USE_ERROR: type[Exception] = typer.BadParameter.__mro__[1]
_AS_JSON = "spinewright.json"


class Face(TyperGroup):
    """The commands, with every error of the tree said in one sentence.

    What was written wrongly exits with 2, a computation without an answer with 3, a file system that refused with 4; an
    error that is not of the tree is a fault of this program: it is said so, and Python shows where, with exit code 1.
    With ``--json`` anywhere in the command the error is an object on standard output by ``schema/error.json``.
    """

    def parse_args(self, ctx: Any, args: list[str]) -> list[str]:  # noqa: ANN401 - typer's context has no public type here
        """Notice ``--json`` before anything can go wrong."""
        ctx.meta[_AS_JSON] = wants_json(args)
        try:
            return super().parse_args(ctx, args)
        except _USE_ERROR as error:
            raise _said_of_use(error, as_json=ctx.meta[_AS_JSON]) from error

    def invoke(self, ctx: Any) -> Any:  # noqa: ANN401 - as above
        """Run the command; no error of the tree gets past here."""
        as_json = bool(ctx.meta[_AS_JSON])
        try:
            return super().invoke(ctx)
        except SpinewrightError as error:
            say_error(error, as_json=as_json)
            raise typer.Exit(error.exit_code) from error
        except _USE_ERROR as error:
            raise _said_of_use(error, as_json=as_json) from error
        except (typer.Exit, typer.Abort, typer.TyperException, KeyboardInterrupt):
            raise
        except Exception as error:
            say_error(error, as_json=as_json)
            raise


def wants_json(args: Sequence[str]) -> bool:
    """Whether ``--json`` stands among ``args``, before any '--'."""
    options = args[: args.index("--")] if "--" in args else args
    return "--json" in options


def say_error(error: BaseException, *, as_json: bool) -> None:
    """One sentence on standard error, or the error object on standard output."""
    from spinewright.workflow.failures import error_json

    said = error_json(error)
    with suppress(OSError):  # where standard output takes no more, the sentence may still be seen
        if as_json:
            typer.echo(json.dumps(said, ensure_ascii=False, indent=2))
            return
    with suppress(OSError):
        typer.echo(f"{said['sentence']}", err=True)


def _said_of_use(error: Exception, *, as_json: bool) -> Exception:
    """The parser's own error, which it says itself with the way of use; as an object it is said here."""
    if not as_json:
        return error
    from spinewright.workflow.failures import use_error_json

    typer.echo(json.dumps(use_error_json(error.format_message()), ensure_ascii=False, indent=2))  # type: ignore[attr-defined]
    return typer.Exit(2)
