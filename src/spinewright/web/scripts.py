"""The script of one page with every module it imports, as one module: asked for at once, and nothing is built ahead.

On a slowed phone each further request costs more than the few kilobytes that several pages' scripts have in common.
"""

from __future__ import annotations

import re
from pathlib import Path

__all__ = ["together"]

_IMPORT = re.compile(r'^import (?:\{([^}]*)\} from )?"\./(\w+)\.js";\n', re.MULTILINE)
_EXPORT = re.compile(r"^export ((?:async )?function|class|const) (\w+)", re.MULTILINE)
_LEFT = re.compile(r"^(?:import|export)\b.*", re.MULTILINE)


def together(folder: Path, names: tuple[str, ...]) -> str:
    """The modules ``names`` of ``folder`` and those they import, each once and after what it imports, in one text.

    Each keeps to itself what it does not export. Raises ValueError for an import or export of another form than the
    page's modules have, and for modules that import one another in a ring.
    """
    found: dict[str, str] = {}
    for name in names:
        _add(folder, name, found, ())
    return "".join(found.values())


def _add(folder: Path, name: str, found: dict[str, str], above: tuple[str, ...]) -> None:
    if name in above:
        raise ValueError(f"{' imports '.join((*above, name))}: no module may import itself")
    if name in found:
        return
    text = (folder / f"{name}.js").read_text(encoding="utf-8")
    for _, other in _IMPORT.findall(text):
        _add(folder, other, found, (*above, name))
    found[name] = _closed(name, text)


def _closed(name: str, text: str) -> str:
    exported = [one for _, one in _EXPORT.findall(text)]
    body = _EXPORT.sub(r"\1 \2", _IMPORT.sub(_taken, text))
    left = _LEFT.search(body)
    if left:
        raise ValueError(f"{name}.js: '{left[0]}' is of a form that is not read here")
    return f"const ${name} = (() => {{\n{body}return {{ {', '.join(exported)} }};\n}})();\n"


def _taken(found: re.Match[str]) -> str:
    names = found[1]
    return f"const {{{names}}} = ${found[2]};\n" if names else "\n"
