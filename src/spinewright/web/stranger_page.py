"""The page of whoever is not let in: what is wrong and how to join, with nothing of the bench in it."""

from __future__ import annotations

from html import escape

__all__ = ["stranger_page"]

_NOT_PAIRED = 401
_JOINING = """
<section class="sheet"><h2>How to join</h2>
<ol>
<li>On the machine the bench runs on, open the bench page and press <strong>Join with a phone</strong> at its foot.</li>
<li>Scan the code that stands there with this phone; both have to be in the same network.</li>
<li>The bench opens here, and from then on this phone can tap in where arrows landed.</li>
</ol>
<p class="quiet">Does it say there that phones cannot join? Then it has to be started with
<code>spinewright serve --share</code>.</p></section>
<p class="care">No phone in the hand while an arrow is nocked or the line is hot.</p>"""
_PAGE = """<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1, viewport-fit=cover">
<title>{title} · spinewright</title>
<link rel="icon" href="/static/mark.svg" type="image/svg+xml">
<link rel="stylesheet" href="/static/page.css">
</head>
<body>
<header class="head"><div class="head-in"><span class="mark">spinewright</span></div></header>
<div class="frame alone"><main id="main">
<h1>{title}</h1>
<p class="big">{sentence}</p>{more}
</main></div>
</body>
</html>
"""


def stranger_page(status: int, sentence: str) -> str:
    """The page for a refusal with HTTP ``status``; a device that is not paired is told how to join."""
    joins = status == _NOT_PAIRED
    title = "This device has not joined yet" if joins else "Not let in"
    return _PAGE.format(title=title, sentence=escape(sentence), more=_JOINING if joins else "")
