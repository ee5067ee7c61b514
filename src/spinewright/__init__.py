"""spinewright: find, prove and reproduce the arrow that forgives most on one bow.

A logbook of what was done and seen, a physical model of everything that could have caused it,
and one next move. Rooms and the direction of their imports are in ``docs/architecture.md``.
"""

__version__ = "0.1.0"
