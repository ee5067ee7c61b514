"""The commands of the tasks around the tune, built from what each task asks."""

from __future__ import annotations

import inspect
from collections.abc import Callable, Sequence
from io import StringIO
from keyword import iskeyword
from pathlib import Path
from shutil import get_terminal_size
from typing import TYPE_CHECKING, Annotated, Any

import typer

from spinewright.cli.printing import WIDTH, heading, listing, rows, say, say_json, sentences
from spinewright.cli.waiting import waiting
from spinewright.errors import InputError
from spinewright.workflow.around.questions import Form, Question, Task
from spinewright.workflow.around.register import TASKS

if TYPE_CHECKING:
    from spinewright.workflow.showing import Json

__all__ = ["add_tasks"]

_MOST_LINES = 2.2  # lines that a row of a table may take on the mean
_USUAL = (
    ("keep", bool, False, typer.Option("--keep", help="Keep these answers in the session file.")),
    (
        "plot",
        Path | None,
        None,
        typer.Option("--plot", help="Draw what can be drawn into this PNG.", metavar="PNG"),
    ),
    ("pdf", Path | None, None, typer.Option("--pdf", help="What can be printed, as a PDF.", metavar="PDF")),
    ("as_json", bool, False, typer.Option("--json", help="Print one JSON object instead of text.")),
)


def add_tasks(app: typer.Typer) -> None:
    """Give ``app`` one command for every task."""
    for task in TASKS.values():
        app.command(task.name)(_command(task))


def _command(task: Task) -> Callable[..., None]:
    """The command of one task: typer reads its options from the signature."""

    def command(file: Path, **said: Any) -> None:  # noqa: ANN401 - typer has checked each against its type
        _run(task, file, said)

    file = typer.Argument(help="The session file.", metavar="FILE", show_default=False)
    parameters = [_parameter("file", Path, inspect.Parameter.empty, file)]
    parameters += [_asked(question) for question in task.questions]
    parameters += [_parameter(*one) for one in _USUAL]
    command.__signature__ = inspect.Signature(parameters)  # type: ignore[attr-defined]
    command.__annotations__ = {p.name: p.annotation for p in parameters}
    command.__name__ = task.name.replace("-", "_")
    command.__doc__ = task.about
    return command


def _parameter(name: str, type_: Any, default: Any, option: Any) -> inspect.Parameter:  # noqa: ANN401 - typer's own
    return inspect.Parameter(name, inspect.Parameter.KEYWORD_ONLY, default=default, annotation=Annotated[type_, option])


def _asked(question: Question) -> inspect.Parameter:
    """The option of one question. What is needed may have been kept, so the task itself says when it is missing."""
    types: dict[object, tuple[Any, str]] = {
        Form.LINES: (list[str] | None, "TEXT"),
        Form.LIST: (Path | None, "CSV"),
        Form.NUMBER: (str | None, "NUMBER"),
        Form.WHOLE: (str | None, "NUMBER"),
    }
    type_, shown = types.get(question.form, (str | None, "TEXT"))
    option = typer.Option(f"--{question.name}", help=_help(question), metavar=shown)
    return _parameter(_key(question), type_, None, option)


def _key(question: Question) -> str:
    """What a question's answer is called in the command: a name that Python allows ('for' is a word of its own)."""
    name = question.name.replace("-", "_")
    return f"{name}_" if iskeyword(name) else name


def _help(question: Question) -> str:
    parts = [question.asks[:1].upper() + question.asks[1:]]
    if question.choices:
        parts.append("one of " + ", ".join(question.choices))
    elif question.example:
        parts.append(f"'{question.example}'" if question.form is not Form.LIST else f"columns {question.example}")
    told = ", ".join(parts) + "."
    if question.form is Form.LINES:
        told += " Once or more."
    return told + (f" Usually {question.usual}." if question.usual else "")


def _run(task: Task, file: Path, said: dict[str, Any]) -> None:
    from spinewright.workflow.around.keeping import keep_answers
    from spinewright.workflow.around.running import run

    usual = {name: said.pop(name) for name, *_ in _USUAL}
    given = {question.name: _given(question, said[_key(question)]) for question in task.questions}
    given = {name: lines for name, lines in given.items() if lines}
    try:
        if task.long:
            with waiting(task.title) as progress:
                found = run(file, task.name, given, progress)
        else:
            found = run(file, task.name, given)
    except InputError as error:
        lists = {question.name: said[_key(question)] for question in task.questions if question.form is Form.LIST}
        path = lists.get(error.place.table or "")
        raise error if path is None else error.at(file=str(path)) from None
    if usual["keep"]:
        keep_answers(file, task, given)
    account = found.to_json()
    drawn = _drawn(account, usual["plot"], usual["pdf"])
    if usual["as_json"]:
        say_json(account)
        return
    kept = ["", f"Kept in {file}."] if usual["keep"] else []
    say([*account_lines(account), *kept, *(f"\nDrawn: {path}" for path in drawn)])


def _given(question: Question, said: Any) -> tuple[str, ...]:  # noqa: ANN401
    if said is None:
        return ()
    if question.form is Form.LIST:
        from spinewright.workflow.around.listed import list_text

        return (list_text(said, question.name),)
    return tuple(said) if isinstance(said, list) else (str(said),)


def _drawn(account: Json, plot: Path | None, pdf: Path | None) -> list[Path]:
    drawn = []
    if plot is not None:
        from spinewright.report.plot_picture import draw_plots

        drawn.append(draw_plots(account, plot))
    if pdf is not None:
        from spinewright.report.paper import print_papers

        drawn.append(print_papers(account, pdf))
    return drawn


def _table(head: Sequence[str], body: Sequence[Sequence[str]]) -> list[str]:
    """A table no wider than the screen, its cells broken between words; where that gets too tall a block a row."""
    from rich.console import Console
    from rich.table import Table
    from rich.text import Text

    table = Table(box=None, padding=(0, 2, 0, 0), header_style="", pad_edge=False)
    for name in head:
        table.add_column(Text(name), overflow="fold")
    for row in body:
        table.add_row(*(Text(cell) for cell in row))
    drawn = StringIO()
    wide = max(WIDTH, get_terminal_size().columns - 1) - 2
    Console(file=drawn, width=wide, color_system=None, force_terminal=False, legacy_windows=False).print(table)
    found = [f"  {line}".rstrip() for line in drawn.getvalue().splitlines()]
    if len(found) <= _MOST_LINES * (1 + len(body)):
        return found
    return [line for row in body for line in ["", *listing(row[:1]), *rows([*zip(head[1:], row[1:], strict=True)])]][1:]


def account_lines(account: Json) -> list[str]:
    """An account as calm text."""
    told: Any = account
    lines = [str(told["title"]), "", *sentences([told["answer"]])]
    lines += heading("Mind", listing(told["cautions"]))
    for table in told["tables"]:
        body = [[cell["text"] for cell in row] for row in table["rows"]]
        lines += heading(table["title"], _table(table["columns"], body) if body else [])
        lines += sentences([table["note"]]) if table["note"] else []
    if told["sentences"]:
        lines += ["", *listing(told["sentences"])]
    lines += heading("What this rests on", listing(told["rests_on"]))
    if told["papers"]:
        names = ", ".join(paper["title"] for paper in told["papers"])
        lines += ["", *sentences([f"To print with --pdf: {names}."])]
    return lines
