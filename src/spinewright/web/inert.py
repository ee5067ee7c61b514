"""Texts on their way out: what would turn a line round or steer a screen is shown as a mark in its place."""

from __future__ import annotations

import json
import re
from typing import Any

from markupsafe import Markup

__all__ = ["json_text", "shown"]

# Controls but for line feed and tab, marks that turn the direction of reading, line separators, halves of characters.
_STEERS = "\x00-\x08\x0b-\x1f\x7f-\x9f\u2028-\u202e\u2066-\u2069\ud800-\udfff"
_IN_TEXT = re.compile(f"[{_STEERS}]")
# In JSON the first of them are written as codes; a backslash that is itself written as two is passed over.
_IN_JSON = re.compile(rf"\\\\|\\[bfr]|\\u00[01][0-9a-f]|[{_STEERS}]")
_MARK = "\N{REPLACEMENT CHARACTER}"


def shown(value: object) -> object:
    """``value`` for a template: a text without what steers; markup of our own and everything else as it is."""
    if not isinstance(value, str) or isinstance(value, Markup):
        return value
    return _IN_TEXT.sub(_MARK, value)


def json_text(body: object, **how: Any) -> str:  # noqa: ANN401 - as json.dumps takes them
    """``body`` as JSON whose texts do not steer. Raises ValueError for a number that is not finite."""
    text = json.dumps(body, ensure_ascii=False, separators=(",", ":"), allow_nan=False, **how)
    return _IN_JSON.sub(lambda found: found[0] if found[0] == "\\\\" else _MARK, text)
