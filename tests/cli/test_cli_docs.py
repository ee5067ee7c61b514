"""The documents of the command line and of its objects: exact, and every example runs."""

from __future__ import annotations

import json
import re
import shlex
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from jsonschema_rs import Draft202012Validator
from typer.main import get_command

from spinewright.cli import app
from spinewright.workflow import SCHEMAS, schema
from spinewright.workflow.around.register import TASKS
from tests.cli.conftest import Run
from tests.coarse_maps import coarse_maps

DOCS = Path(__file__).parents[2] / "docs"
ROW = re.compile(r"^\| `([^`]+)` \| (.*) \|$", re.MULTILINE)


def _sections(name: str, mark: str) -> dict[str, str]:
    text = (DOCS / name).read_text(encoding="utf-8")
    parts = re.split(rf"^{mark} (.+)$", text, flags=re.MULTILINE)
    return dict(zip(parts[1::2], parts[2::2], strict=True))


def _commands() -> Iterator[tuple[str, Any]]:
    root: Any = get_command(app)
    for name, command in root.commands.items():
        if name != "log":
            yield f"spinewright {name}", command
            continue
        yield "spinewright log FILE KIND", command
        for kind, entry in command.commands.items():
            yield f"spinewright log FILE {kind}", entry


def _said(command: Any) -> dict[str, str]:  # noqa: ANN401 - typer's commands have no public type
    found = {}
    for param in command.params:
        if param.param_type_name == "argument":
            found[str(param.metavar)] = str(param.help)
        elif "--help" not in param.opts:
            found["/".join([*param.opts, *param.secondary_opts])] = param.help + (" Needed." if param.required else "")
    return found


def _around() -> dict[str, str]:
    """The documents of the tasks around the tune, by their command."""
    texts = [
        path.read_text(encoding="utf-8") for path in sorted((DOCS / "around").glob("*.md")) if path.stem != "README"
    ]
    return {text.partition("\n")[0].removeprefix("# "): text for text in texts}


def test_every_command_and_option_is_documented_as_it_is() -> None:
    documented = _sections("commands.md", "###?") | _around()
    assert set(documented) == {name for name, _ in _commands()}
    for name, command in _commands():
        assert dict(ROW.findall(documented[name].split("\n### ")[0])) == _said(command), name
        assert command.help in documented[name]


@pytest.mark.slow
def test_every_example_runs(run: Run) -> None:
    examples = re.findall(r"^\$ (spinewright .+)$", (DOCS / "commands.md").read_text(encoding="utf-8"), re.MULTILINE)
    shown = {" ".join(shlex.split(line)[:2]) for line in examples}
    assert shown == {"spinewright " + name for name in ("new", "log", "sheet", "next", "map", "doctor")}
    with coarse_maps():
        for line in examples:
            said = run(*shlex.split(line)[1:]).stdout
            if "--json" in line:
                Draft202012Validator(schema(shlex.split(line)[1])).validate(json.loads(said))
    assert Path("map.png").exists()
    assert Path("sheet.png").exists()


@pytest.mark.parametrize("name", list(TASKS))
def test_every_example_around_the_tune_runs(run: Run, name: str) -> None:
    for table in (DOCS / "around").glob("*.csv"):
        shutil.copy(table, Path.cwd())
    run("new", "shed.toml", "--example")
    lines = re.findall(r"^\$ (spinewright .+)$", _around()[f"spinewright {name}"], re.MULTILINE)
    assert [line for line in lines if line.startswith(f"spinewright {name} shed.toml")]
    for line in lines:
        said = run(*shlex.split(line)[1:]).stdout
        if "--json" in line:
            Draft202012Validator(schema("account")).validate(json.loads(said))


def test_every_task_around_the_tune_is_listed() -> None:
    listed = re.findall(
        r"^\| \[`spinewright (.+?)`\]", (DOCS / "around" / "README.md").read_text("utf-8"), re.MULTILINE
    )
    assert listed == list(TASKS)


def test_every_kind_of_entry_has_an_example() -> None:
    for name, text in _sections("commands.md", "###").items():
        assert f"$ spinewright log shed.toml {name.rsplit(' ', maxsplit=1)[-1]}" in text


def _fields(node: dict[str, Any], path: str = "") -> Iterator[tuple[str, str]]:
    for one in node.get("anyOf", ()):
        yield from _fields(one, path)
    if node.get("type") == "array":
        yield from _fields(node["items"], path + "[]")
    for name, inner in node.get("properties", {}).items():
        here = f"{path}.{name}" if path else name
        yield here, inner["description"]
        yield from _fields(inner, here)


@pytest.mark.parametrize("name", [name for name in SCHEMAS if name != "parts"])
def test_every_field_of_every_object_is_documented(name: str) -> None:
    text = _sections("json.md", "##")[name]
    rows = {field: said.split(" | ", 1)[1] for field, said in ROW.findall(text)}
    assert rows == dict(_fields(schema(name)))


def test_every_shared_part_is_documented() -> None:
    sections = _sections("json.md", "###")
    parts: Any = schema("next")["$defs"]
    for name, node in parts["parts"]["$defs"].items():
        rows = {field: said.split(" | ", 1)[1] for field, said in ROW.findall(sections[name])}
        assert rows == dict(_fields(node)), name


def test_the_program_that_plays_a_hunt_runs(capsys: pytest.CaptureFixture[str]) -> None:
    code = re.search(r"```python\n(.+?)```", (DOCS / "json.md").read_text(encoding="utf-8"), re.DOTALL)
    assert code is not None
    exec(compile(code[1], "json.md", "exec"), {})  # noqa: S102 - the example of our own document
    assert capsys.readouterr().out.strip().endswith(".")
