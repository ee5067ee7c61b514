"""Keeps events in the order of time although devices send late and their clocks differ: nothing is refused for that."""

from __future__ import annotations

from datetime import date, datetime, timedelta

from spinewright.logbook.replay import is_before

__all__ = ["in_order"]

_AHEAD = timedelta(days=1)  # a clock further ahead than any time zone is wrong


def in_order(when: object, latest: date | None) -> object:
    """``when``, or ``latest`` where it would come before that, or now where its clock was far ahead."""
    if not isinstance(when, date):
        return when
    now = datetime.now().replace(microsecond=0)
    if is_before(now + _AHEAD, when):
        when = now
    return latest if latest is not None and is_before(when, latest) else when
