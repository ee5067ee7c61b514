"""The part 'devices': many phones tapping and watching at once, and how long each tap takes to be kept and seen."""

from __future__ import annotations

import asyncio
import os
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
from numpy.random import Generator

from soak.devices import Crowd, Seen, crowd
from soak.figures import Figures
from soak.served import served

__all__ = ["run", "watched_crowd"]

_MOST = 0.150  # s that a tap may take to be acknowledged, nineteen times in twenty
_TOLD = 20  # faults that are written out


def run(amount: float, rng: Generator) -> Figures:
    """The figures of ``amount`` minutes."""
    wanted = Crowd(seconds=60.0 * amount)
    load = os.getloadavg()[0] if hasattr(os, "getloadavg") else float("nan")
    seen = watched_crowd(wanted, rng)
    about = (
        f"{wanted.devices} paired devices at {wanted.benches} bows, {wanted.devices // wanted.benches} at each, over "
        "HTTP on this machine: a server process, and one process for all devices. Each taps every "
        f"{wanted.pace:g} s on average as the page does, holds the stream of messages of its bow, fetches the line "
        "anew when another device changed something, and ends a walk after a dozen arrows; meanwhile `next` of "
        f"{wanted.bows} plausible bows is thought through for one of the bows after the other. Wrong is every answer "
        "but 200, a stream that ends, a tap that was acknowledged and is not kept, one that another device was not "
        f"told of, and 95 % of taps not acknowledged within {1000 * _MOST:.0f} ms. The load average of the machine was "
        f"{load:.1f} just before."
    )
    rows = (
        ("taps sent", str(seen.tapped), "", "", ""),
        ("from tap to acknowledgement", *_times(seen.answered)),
        ("from tap to the message on another device", *_times(seen.told)),
        ("from tap to the hole on another device", *_times(seen.shown)),
        ("errors", str(len(seen.errors)), "", "", ""),
        ("acknowledged and not kept", str(seen.lost), "", "", ""),
        ("not told to another device", str(seen.unseen), "", "", ""),
        ("bows thought through meanwhile", str(seen.thought), "", "", ""),
    )
    columns = ("what", "how often", "p50, ms", "p95, ms", "p99, ms")
    return Figures(about, f"{amount:g} minutes, {seen.tapped:,} taps", columns, rows, tuple(_faults(seen)))


def watched_crowd(wanted: Crowd, rng: Generator) -> Seen:
    """What happens to ``wanted`` with a server of its own over an empty store."""
    with TemporaryDirectory() as folder, served(Path(folder) / "store") as port:
        return asyncio.run(crowd(port, wanted, rng))


def _times(found: list[float]) -> tuple[str, ...]:
    if not found:
        return ("0", "", "", "")
    return (str(len(found)), *(f"{1000 * one:.0f}" for one in np.quantile(found, (0.5, 0.95, 0.99))))


def _faults(seen: Seen) -> list[str]:
    told = seen.errors[:_TOLD]
    if len(seen.errors) > _TOLD:
        told.append(f"and {len(seen.errors) - _TOLD} more")
    for many, what in ((seen.lost, "acknowledged and not kept"), (seen.unseen, "not told to another device")):
        if many:
            told.append(f"{many} taps were {what}")
    if seen.answered and np.quantile(seen.answered, 0.95) > _MOST:
        told.append(f"one tap in twenty took longer than {1000 * _MOST:.0f} ms")
    return told
