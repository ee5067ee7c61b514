"""The command line: a thin face over ``workflow`` that arranges sentences and numbers as calm text.

Here live the commands with their options, the layout of what they print, the progress bar, and the one place that
turns an error into a sentence and an exit code. Not here: anything that is decided, computed or read from a file.
"""

from __future__ import annotations

from spinewright.cli.app import app, main

__all__ = ["app", "main"]
