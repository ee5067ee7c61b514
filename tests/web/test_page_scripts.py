"""The script of a page: each module once and after what it imports, and what cannot be put together is refused."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from spinewright.web.assets import STATIC, static
from spinewright.web.scripts import together

MODULES = sorted(path.stem for path in (STATIC / "js").glob("*.js"))


@pytest.mark.parametrize("name", MODULES)
def test_each_script_holds_what_it_imports_once_and_before_itself(name: str) -> None:
    text = together(STATIC / "js", ("common", name))
    made = re.findall(r"^const \$(\w+) = \(\(\) => \{$", text, re.MULTILINE)
    assert len(made) == len(set(made)) >= 4
    assert name in made
    for number, part in enumerate(re.split(r"^const \$\w+ = \(\(\) => \{$", text, flags=re.MULTILINE)[1:]):
        taken = set(re.findall(r"^const \{[^}]*\} = \$(\w+);$", part, re.MULTILINE))
        assert taken <= set(made[:number])
    assert not re.search(r"^(import|export)\b", text, re.MULTILINE)


def test_what_a_module_exports_is_handed_on_and_the_rest_is_its_own(tmp_path: Path) -> None:
    (tmp_path / "one.js").write_text("const own = 1;\nexport const two = 2;\nexport async function three() {}\n")
    (tmp_path / "top.js").write_text('import { two, three } from "./one.js";\nconst own = two;\n')
    assert together(tmp_path, ("top",)) == (
        "const $one = (() => {\nconst own = 1;\nconst two = 2;\nasync function three() {}\n"
        "return { two, three };\n})();\n"
        "const $top = (() => {\nconst { two, three } = $one;\nconst own = two;\nreturn {  };\n})();\n"
    )


def test_a_ring_and_an_import_of_another_form_are_refused(tmp_path: Path) -> None:
    (tmp_path / "a.js").write_text('import "./b.js";\n')
    (tmp_path / "b.js").write_text('import "./a.js";\n')
    with pytest.raises(ValueError, match=r"a imports b imports a: no module may import itself"):
        together(tmp_path, ("a",))
    (tmp_path / "c.js").write_text('import * as all from "./a.js";\n')
    with pytest.raises(ValueError, match=r"c\.js: .* is of a form that is not read here"):
        together(tmp_path, ("c",))


def test_an_address_changes_with_what_stands_there_and_the_font_has_but_one() -> None:
    font = static("fonts/atkinson-hyperlegible-next-latin-wght-normal.woff2")
    assert re.fullmatch(r"/static/fonts/[\w.-]+\.woff2\?v=[0-9a-f]{10}", font)
    assert static("page/line.js").partition("?")[2] != static("page/map.js").partition("?")[2]
    with pytest.raises(FileNotFoundError):
        static("js/none.js")
