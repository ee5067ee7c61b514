"""One type family on the page, in pictures and in print: ours; only letters that it lacks come from DejaVu Sans."""

from __future__ import annotations

import ast
import re
from concurrent.futures import ThreadPoolExecutor
from functools import cache
from pathlib import Path

import matplotlib as mpl
import pytest
from fontTools.ttLib import TTFont
from matplotlib import font_manager

import spinewright
from spinewright.report import typeface
from spinewright.report.paper import paper_pdf
from spinewright.report.plot_picture import plot_svg
from spinewright.report.style import blank_page
from spinewright.report.typeface import FAMILY, own_type
from spinewright.workflow.around import papers
from spinewright.workflow.around.account import Plot, Series

PACKAGE = Path(spinewright.__file__).parent
FONTS = Path(typeface.__file__).parent / "fonts"
FILES = ("spinewright-sans-regular.ttf", "spinewright-sans-bold.ttf")
#: What is only read, never written: other ways to type a number; a code for cameras; marks of byte order.
ONLY_READ = ("units/reading.py", "cli/serve.py", "workflow/around/answers.py", "web/inert.py")
OTHERS = "Łódź, Ångström, Ωμέγα, Жук, 20 → 30"  # invented names of archers and bows


@cache
def _letters(name: str) -> frozenset[int]:
    return frozenset(TTFont(FONTS / name).getBestCmap())


def _written() -> set[str]:
    """Every character of every text in the source, f-strings and words of documents included."""
    found: set[str] = set()
    for path in PACKAGE.rglob("*.py"):
        if path.relative_to(PACKAGE).as_posix() in ONLY_READ:
            continue
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Constant) and isinstance(node.value, str):
                found |= set(node.value)
    return {one for one in found if one.isprintable() and one != "\N{REPLACEMENT CHARACTER}"}


@pytest.mark.parametrize("name", FILES)
def test_the_family_has_every_letter_we_write(name: str) -> None:
    written = _written()
    assert {"±", "°", "a", "0"} <= written
    # matplotlib writes the minus sign; shops write fractions and quotes into names
    assert not {one for one in {*written, *"−–—½¼¾“”‘’…×²éüßñ"} if ord(one) not in _letters(name)}


def test_the_files_are_one_family_in_two_weights_with_their_licence() -> None:
    for name, weight, style in zip(FILES, (400, 700), ("Regular", "Bold"), strict=True):
        font = TTFont(FONTS / name)
        assert (font["name"].getDebugName(1), font["name"].getDebugName(2)) == (FAMILY[0], style)
        assert font["OS/2"].usWeightClass == weight
        assert "SIL Open Font License" in font["name"].getDebugName(13)
        assert "fvar" not in font, "matplotlib draws a variable font in one weight only"
    licence = (FONTS / "OFL.txt").read_bytes()
    assert licence == (PACKAGE / "web" / "static" / "fonts" / "OFL.txt").read_bytes()
    assert b"Reserved Font Name" not in licence.partition(b"-----")[0], "a changed copy may be named as it likes"


def test_matplotlib_takes_our_files_and_keeps_its_settings() -> None:
    before = dict(mpl.rcParams)
    with own_type():
        for weight, name in (("normal", FILES[0]), ("bold", FILES[1])):
            found = font_manager.findfont(font_manager.FontProperties(family=list(FAMILY), weight=weight))
            assert Path(found) == FONTS / name
    assert dict(mpl.rcParams) == before


def test_other_scripts_are_drawn_too() -> None:
    with own_type():  # a letter that no font has is a warning, and warnings are errors
        page = blank_page(1.0)
        page.text(0.1, 0.5, OTHERS)
        page.canvas.draw()


def _plot(words: str) -> Plot:
    return Plot(words, "distance (yd)", "drop (in)", (Series("shot", (1, 2), (-3, 4), line=False),), "It falls.")


def _fonts_in(words: str) -> set[str]:
    blocks = (papers.heading(words), papers.words(words), papers.grid([words], [[words]]))
    pdf = paper_pdf([papers.Paper("s", words, (*blocks, papers.picture(_plot(words).to_json()))).to_json()])
    return {one.decode() for one in re.findall(rb"/FontName */\w+\+([\w-]+)", pdf)}


def test_print_is_set_in_it_and_only_letters_it_lacks_in_another() -> None:
    assert _fonts_in("Sight marks, 0.5 ± 0.1 in at 20°") == {"SpinewrightSans-Regular", "SpinewrightSans-Bold"}
    assert {one.partition("-")[0] for one in _fonts_in(OTHERS)} == {"SpinewrightSans", "DejaVuSans"}


def test_a_plot_in_the_page_needs_no_font() -> None:
    plot = _plot("Sight marks").to_json()
    outlined = plot_svg(plot)
    assert "<text" not in outlined
    assert "font-family" not in outlined
    assert "<path" in outlined


def test_plots_drawn_at_once_are_each_set_in_it() -> None:
    plots = [_plot(f"Sight marks {number}").to_json() for number in range(6)]
    alone = [plot_svg(one) for one in plots]
    with ThreadPoolExecutor(3) as hands:
        assert list(hands.map(plot_svg, plots)) == alone
