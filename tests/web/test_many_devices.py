"""Devices that tap and watch at once, in seconds: nothing is refused, nothing is lost, everybody is told."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor

import numpy as np
import pytest
from soak.devices import Crowd
from soak.devices_part import watched_crowd


@pytest.mark.endurance
def test_many_devices_tap_and_watch_and_nothing_is_lost() -> None:
    crowd = Crowd(devices=8, benches=2, seconds=6.0, pace=1.0, bows=50)
    with ThreadPoolExecutor(1) as apart:  # a browser of other tests may keep this thread's event loop running
        seen = apart.submit(watched_crowd, crowd, np.random.default_rng(5)).result()
    assert seen.errors == []
    assert (seen.lost, seen.unseen) == (0, 0)
    assert len(seen.answered) == seen.tapped > 8
    others = 3  # devices at the same bow beside the one that tapped
    assert len(seen.told) == len(seen.shown) == others * seen.tapped
