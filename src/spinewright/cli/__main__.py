"""Runs the command line as ``python -m spinewright.cli``."""

from __future__ import annotations

from spinewright.cli.app import main

__all__: list[str] = []

if __name__ == "__main__":
    main()
