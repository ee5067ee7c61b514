"""Every link of every document leads somewhere, no document names a command or verb that is not there."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest
from soak.keeping import kept
from soak.page import page_text
from soak.register import PARTS
from typer.main import get_command

from spinewright.cli import app

ROOT = Path(__file__).parents[2]
PAGES = sorted([*ROOT.glob("*.md"), *(ROOT / "docs").rglob("*.md")])
LINK = re.compile(r"!?\[[^\]]*\]\(([^)\s]+)\)")
CODE = re.compile(r"```.*?```|`[^`\n]+`", re.DOTALL)
COMMAND = re.compile(r"\bspinewright (?!FILE)([a-z][a-z-]*)(?: (\S+)(?: ([a-z-]+))?)?")
VERB = re.compile(r"\bmake ([a-z]+)`|^(?:\$ )?make ([a-z]+)$", re.MULTILINE)


def names(page: Path) -> str:
    return str(page.relative_to(ROOT))


def anchors(page: Path) -> set[str]:
    """The anchors of the headings as code hosts make them: lower case, blanks to hyphens, punctuation dropped."""
    heads = re.findall(r"^#+ (.+)$", page.read_text(encoding="utf-8"), re.MULTILINE)
    return {re.sub(r"[^\w\- ]", "", head.lower()).replace(" ", "-") for head in heads}


@pytest.mark.parametrize("page", PAGES, ids=names)
def test_every_link_resolves(page: Path) -> None:
    for target in LINK.findall(page.read_text(encoding="utf-8")):
        if target.startswith(("https://", "http://")):
            continue
        path, _, anchor = target.partition("#")
        there = page if not path else (page.parent / path)
        assert there.exists(), f"{names(page)}: {target}"
        if anchor:
            assert anchor in anchors(there), f"{names(page)}: {target}"


@pytest.mark.parametrize("page", PAGES, ids=names)
def test_no_page_names_a_command_that_does_not_exist(page: Path) -> None:
    root: Any = get_command(app)
    for code in CODE.findall(page.read_text(encoding="utf-8")):
        for name, file, kind in COMMAND.findall(code):
            assert name in root.commands, f"{names(page)}: spinewright {name}"
            if name == "log" and file and kind and not kind.isupper():
                assert kind in root.commands["log"].commands, f"{names(page)}: spinewright log {file} {kind}"


@pytest.mark.parametrize("page", PAGES, ids=names)
def test_no_page_names_a_verb_that_the_makefile_lacks(page: Path) -> None:
    verbs = set(re.findall(r"^([a-z]+):", (ROOT / "Makefile").read_text(encoding="utf-8"), re.MULTILINE))
    for found in VERB.findall(page.read_text(encoding="utf-8")):
        assert (found[0] or found[1]) in verbs, names(page)


def test_the_index_leads_to_every_page() -> None:
    index = ROOT / "docs" / "README.md"
    led: set[Path] = set()
    for listing in (index, index.parent / "around" / "README.md"):
        led |= {(listing.parent / target).resolve() for target in LINK.findall(listing.read_text(encoding="utf-8"))}
    missing = [names(page) for page in PAGES if page.is_relative_to(index.parent) and page.resolve() not in led]
    assert missing == [names(index)]


def test_the_index_tells_of_every_package() -> None:
    text = (ROOT / "docs" / "architecture.md").read_text(encoding="utf-8")
    packages = {path.parent.name for path in (ROOT / "src" / "spinewright").glob("*/__init__.py")}
    assert {name for name in packages if f"| `{name}` |" not in text} == set()


def test_the_readme_opens_with_the_job_a_picture_and_the_two_verbs() -> None:
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    places = [text.find(part) for part in ("the arrow that forgives", "](docs/pictures/", "make demo", "make test")]
    assert places == sorted(places)
    assert places[0] > 0


def test_the_vision_is_three_lines() -> None:
    assert len((ROOT / "VISION.md").read_text(encoding="utf-8").splitlines()) == 3


def test_the_changelog_tells_of_this_version() -> None:
    from spinewright import __version__

    assert f"## [{__version__}]" in (ROOT / "CHANGELOG.md").read_text(encoding="utf-8")


def test_the_page_of_long_tries_says_what_was_kept_of_them() -> None:
    page = ROOT / "docs" / "reliability.md"
    assert page_text(kept(page.with_suffix(".json")), PARTS) == page.read_text(encoding="utf-8")
