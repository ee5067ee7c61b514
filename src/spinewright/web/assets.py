"""The page's assets, each read and packed once and then sent from memory; an address with its hash is kept for good."""

from __future__ import annotations

import gzip
import hashlib
import mimetypes
import re
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING

from starlette.datastructures import Headers
from starlette.exceptions import HTTPException
from starlette.responses import Response

from spinewright.web.scripts import together

if TYPE_CHECKING:
    from starlette.types import Receive, Scope, Send

__all__ = ["STATIC", "Assets", "static"]

STATIC = Path(__file__).parent / "static"
"""The folder of the page's assets."""

_FOREVER = "public, max-age=31536000, immutable"
_PACKED = (".css", ".js", ".svg", ".txt")
_ON_EVERY_PAGE = "common"  # the script
_ADDRESS = re.compile(r'url\("([^"]+)"\)')
_PATH = re.compile(r"[\w-]+(?:/[\w-]+)*\.[\w.]+")


@dataclass(frozen=True, slots=True)
class _Asset:
    """``packed`` is None where packing does not pay."""

    plain: bytes
    packed: bytes | None
    kind: str
    stamp: str


@lru_cache(maxsize=256)
def _asset(path: str) -> _Asset | None:
    body = _body(path)
    if body is None:
        return None
    kind = "text/javascript" if path.endswith(".js") else mimetypes.guess_type(path)[0] or "application/octet-stream"
    packed = gzip.compress(body, 9, mtime=0) if path.endswith(_PACKED) else None
    return _Asset(body, packed, kind, hashlib.sha256(body).hexdigest()[:10])


def _body(path: str) -> bytes | None:
    """What stands at ``path``, None = nothing; 'page/NAME.js' is the script of a page with all it imports."""
    if not _PATH.fullmatch(path):
        return None
    folder, _, name = path.rpartition("/")
    if folder == "page":
        name = name.removesuffix(".js")
        if not (STATIC / "js" / f"{name}.js").is_file():
            return None
        return together(STATIC / "js", tuple(dict.fromkeys((_ON_EVERY_PAGE, name)))).encode()
    file = STATIC / path
    if not file.is_file():
        return None
    if path.endswith(".css"):  # the font is asked for at the address that the page has told ahead
        return _ADDRESS.sub(lambda found: f'url("{static(found[1])}")', file.read_text(encoding="utf-8")).encode()
    return file.read_bytes()


def static(path: str) -> str:
    """The address of an asset; it changes with its content, so that a browser may keep it."""
    found = _asset(path)
    if found is None:
        raise FileNotFoundError(path)
    return f"/static/{path}?v={found.stamp}"


class Assets:
    """Answers for what stands in the folder of assets."""

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request. Raises HTTPException where nothing stands."""
        if scope["method"] not in ("GET", "HEAD"):
            raise HTTPException(405)
        found = _asset(scope["path"].removeprefix(scope.get("root_path", "")).lstrip("/"))
        if found is None:
            raise HTTPException(404)
        await _answer(found, scope)(scope, receive, send)


def _answer(asset: _Asset, scope: Scope) -> Response:
    asked = Headers(scope=scope)
    mark = f'"{asset.stamp}"'
    headers = {
        "cache-control": _FOREVER if b"v=" in scope["query_string"] else "no-cache",
        "etag": mark,
        "vary": "Accept-Encoding",
    }
    if mark in asked.get("if-none-match", ""):
        return Response(status_code=304, headers=headers)
    body = asset.plain
    if asset.packed is not None and "gzip" in asked.get("accept-encoding", ""):
        body = asset.packed
        headers["content-encoding"] = "gzip"
    return Response(b"" if scope["method"] == "HEAD" else body, headers=headers, media_type=asset.kind)
