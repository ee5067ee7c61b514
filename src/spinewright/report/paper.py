"""Prints the sheets of a task around the tune as one PDF, true to scale, set by typst.

The same sheets give the same bytes. Whatever a person wrote reaches typst as data inside string literals, never as
markup.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from types import MappingProxyType
from typing import Any

from spinewright.errors import InputError, SolveError
from spinewright.logbook.safe_write import put
from spinewright.report.style import FAINT, INK, OCHRE, QUIET
from spinewright.report.typeface import FAMILY, font_folders
from spinewright.units import unbroken

__all__ = ["paper_pdf", "print_papers"]

_FAMILY = ", ".join(f'"{one}"' for one in FAMILY)
_TEXT_PT = 10.5
_LEAST = 78  # per cent of it that a page may be made smaller to: 8.2 pt, still read at arm's length at the bench
_SHORT = 9  # characters of a first column that needs less room than the others
_FLOWING_PT = 9.0  # of what is not made to fit but goes on to a second page
_HEAD = f"""#set document(date: none)
#set page(paper: "a4", margin: (x: 18mm, y: 16mm), footer: context [#text(8pt, fill: rgb("{QUIET}"))[#foot #h(1fr) \
#counter(page).display("1 / 1", both: true)]])
#set text(font: ({_FAMILY}), number-width: "tabular")
#set text(size: {_TEXT_PT}pt, fill: rgb("{INK}"), lang: "en", hyphenate: false)
#set par(justify: false, leading: 0.55em)
#let line-colour = rgb("{FAINT}")
#let care(body) = block(stroke: (left: 2pt + rgb("{OCHRE}")), inset: (left: 6pt, y: 2pt), body)
"""


def print_papers(account: Mapping[str, Any], path: Path) -> Path:
    """Print every sheet of ``account`` (as its ``to_json`` gives it) into the PDF ``path``; returns it.

    Raises InputError when there is nothing to print, StoreError when the file system refuses; nothing was changed then.
    """
    if not account["papers"]:
        raise InputError(f"'{account['title']}' has nothing to print here", "leave --pdf out")
    put(path, paper_pdf(account["papers"]))
    return path


def paper_pdf(papers: Sequence[Mapping[str, Any]]) -> bytes:
    """The sheets as a PDF. Raises SolveError when they cannot be set."""
    import typst

    source = "\n#pagebreak(weak: true)\n".join(_sheet(paper, k) for k, paper in enumerate(papers))
    folders: list[Any] = [str(one) for one in font_folders()]
    try:
        made = typst.compile(source.encode(), format="pdf", ignore_system_fonts=True, font_paths=folders)
    except (RuntimeError, ValueError) as error:
        raise SolveError("the sheet to print", "setting the type", "try it without pictures") from error
    assert isinstance(made, bytes)  # noqa: S101 - no output file was named
    return made


def _sheet(paper: Mapping[str, Any], number: int) -> str:
    head = f"#let foot = {_text(paper['foot'])}\n" + (_HEAD if number == 0 else "")
    title = f'#text(18pt, weight: "bold", {_text(paper["title"])})\n'
    return head + title + _blocks(paper["blocks"])


def _blocks(blocks: Sequence[Mapping[str, Any]]) -> str:
    return "\n".join(_BLOCKS[block["block"]](block) for block in blocks)


def _text(said: object) -> str:
    """What was ``said`` as :func:`_literal`, each number kept on one line with its unit."""
    return _literal(unbroken(str(said)))


def _literal(said: object) -> str:
    """``said`` as a string literal of typst; control characters and marks that turn the line round are left out."""
    kept = "".join(c for c in str(said) if c == "\n" or (c.isprintable() and c not in "\u202a\u202b\u202c\u202d\u202e"))
    escaped = kept.replace("\\", "\\\\").replace('"', '\\"').replace("\n", "\\n")
    return f'"{escaped}"'


def _cells(row: Sequence[object]) -> str:
    return ", ".join(f"text({_text(cell)})" for cell in row)


def _heading(block: Mapping[str, Any]) -> str:
    return f'#v(6pt)\n#block(sticky: true, text(12pt, weight: "bold", {_text(block["text"])}))'


def _words(block: Mapping[str, Any]) -> str:
    said = f"text({_text(block['text'])})"
    return f"#care({said})" if block["care"] else f"#par({said})"


def _facts(block: Mapping[str, Any]) -> str:
    rows = ", ".join(_cells(row) for row in block["rows"])
    return f"#grid(columns: (auto, 1fr), column-gutter: 10pt, row-gutter: 5pt, {rows})"


def _grid(block: Mapping[str, Any]) -> str:
    columns = len(block["columns"])
    head = ", ".join(f'text(weight: "bold", {_text(name)})' for name in block["columns"])
    rows = "".join(f", {_cells(row)}" for row in block["rows"])
    names = max(len(str(row[0])) for row in (block["columns"], *block["rows"]))
    first = 1.6 if names > _SHORT else 0.8
    wide = "1fr" if columns == 1 else f"({first}fr,{'1fr,' * (columns - 1)})"
    return (
        f"#table(columns: {wide}, stroke: (x: none, y: 0.4pt + line-colour), inset: (x: 3pt, y: 3.5pt), "
        f"table.header({head}){rows})"
    )


def _blanks(block: Mapping[str, Any]) -> str:
    columns, rows, height = len(block["columns"]), int(block["rows"]), float(block["height"])
    head = ", ".join(f"text(9pt, {_text(name)})" for name in block["columns"])
    empty = ", ".join(["[]"] * (columns * rows))
    sizes = f"(auto, {','.join([f'{height}mm'] * rows)})"
    return f"#table(columns: ({'1fr,' * columns}), rows: {sizes}, stroke: 0.5pt + line-colour, {head}, {empty})"


def _checkline(_block: Mapping[str, Any]) -> str:
    return (
        "#v(4pt)\n#block(breakable: false)[#stack(dir: ltr, line(length: 4mm, angle: 90deg), line(length: 100mm), "
        "line(length: 4mm, angle: 90deg))\n"
        "#text(8.5pt)[This line is 100 mm long. If your ruler says otherwise, print again at 100 % of its size.]]"
    )


def _strip(block: Mapping[str, Any]) -> str:
    length, width = float(block["length"]), float(block["width"])
    marks = []
    for mark in block["marks"]:
        if not 0.0 <= mark["at"] <= length:
            continue
        reach = width * (0.55 if mark["long"] else 0.35)
        marks.append(f"place(top + left, dy: {mark['at']:.3f}mm, line(length: {reach:.3f}mm, stroke: 0.35pt))")
        label = f"text(7pt, {_text(mark['label'])})"
        marks.append(
            f"place(top + left, dx: {reach + 0.8:.3f}mm, dy: {mark['at']:.3f}mm - 3.5pt, box(height: 7pt, {label}))"
        )
    drawn = "; ".join(marks)
    title = f"#text(9pt, {_text(block['title'])})\n" if block["title"] else ""
    return (
        f"{title}#block(width: {width:.3f}mm, height: {length:.3f}mm, breakable: false, stroke: 0.35pt, "
        f"inset: 0pt, {{{drawn}}})"
    )


def _labels(block: Mapping[str, Any]) -> str:
    width, height = float(block["width"]), float(block["height"])
    across = max(1, int(174 // width))
    box = f"width: {width:.3f}mm, height: {height:.3f}mm, stroke: 0.35pt, inset: 2mm"
    cells = ", ".join(f"box({box}, align(horizon, text(8.5pt, {_text(one)})))" for one in block["texts"])
    return f"#grid(columns: {across}, {cells})" if cells else ""


def _signature(block: Mapping[str, Any]) -> str:
    return (
        f"#v(8pt)\n#block(breakable: false)[#text({_text(block['text'])})\n#v(14pt)\n"
        "#grid(columns: (2fr, 1fr), column-gutter: 12mm, line(length: 100%, stroke: 0.5pt), "
        "line(length: 100%, stroke: 0.5pt), [Name and signature], [Date])]"
    )


def _picture(block: Mapping[str, Any]) -> str:
    from spinewright.report.plot_picture import plot_svg

    svg, height = plot_svg(block["plot"]), float(block["height"])
    said = _text(block["plot"]["words"])
    return f'#image(bytes({_literal(svg)}), format: "svg", height: {height:.3f}mm, alt: {said})'


def _beside(block: Mapping[str, Any]) -> str:
    left, right = _blocks(block["left"]), _blocks(block["right"])
    return f"#grid(columns: (1fr, 1fr), column-gutter: 7mm, [{left}], [{right}])"


def _fitted(block: Mapping[str, Any]) -> str:
    """Set at the largest of some sizes at which it fits under a title; made wider as much as it is made smaller.

    What does not fit at the smallest that is easily read goes on to further pages instead.
    """
    sizes = ", ".join(f"{one / 100:.2f}" for one in range(100, _LEAST - 1, -2))
    return (
        f"#layout(size => {{ let body = [#set par(spacing: 0.75em)\n{_blocks(block['blocks'])}]; "
        f"let room = size.height - {_TITLE_MM}mm; let sizes = ({sizes}); "
        "let high(s) = measure(block(width: size.width / s, body)).height * s; "
        "let (low, last) = (0, sizes.len() - 1); "
        "while low < last { let half = calc.quo(low + last, 2); "
        "if high(sizes.at(half)) <= room { last = half } else { low = half + 1 } }; "
        "let s = sizes.at(low); "
        f"if high(s) > room [#set text(size: {_FLOWING_PT}pt); #body] else {{ "
        "scale(s * 100%, origin: top + left, reflow: true, block(width: size.width / s, body)) } })"
    )


_TITLE_MM = 12.0  # height of a sheet's title with the space under it

_BLOCKS: Mapping[str, Callable[[Mapping[str, Any]], str]] = MappingProxyType(
    {
        "heading": _heading,
        "words": _words,
        "facts": _facts,
        "grid": _grid,
        "blanks": _blanks,
        "checkline": _checkline,
        "strip": _strip,
        "labels": _labels,
        "signature": _signature,
        "picture": _picture,
        "beside": _beside,
        "fitted": _fitted,
    }
)
