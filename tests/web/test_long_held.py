"""Benches that a server holds are none of the garbage collector's business, and are freed without it."""

from __future__ import annotations

import gc
import threading
import weakref
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
from soak.ten_years import head_row

from spinewright.errors import InputError
from spinewright.logbook.store import HeadRow, NewBench, open_store
from spinewright.workflow.benches import Benches, Missing, open_benches, served_benches
from spinewright.workflow.benches.long_held import held_long
from tests.web.benches_samples import tap
from tests.web.test_long_logbooks import LONG


@pytest.fixture(autouse=True)
def others_are_looked_at_again() -> Iterator[None]:
    assert gc.isenabled()
    gc.unfreeze()  # what conftest.py holds for all tests
    yield
    gc.enable()
    gc.unfreeze()
    gc.collect()
    gc.freeze()


@pytest.fixture
def store(tmp_path: Path) -> Path:
    made = open_store(tmp_path)
    made.make(NewBench("b1", "an invented bow", True, head_row(LONG)))
    made.make(NewBench("bodd", "a bow that cannot be read", True, HeadRow("odd", ())))
    made.close()
    return tmp_path


def _looked_at(benches: Benches) -> bool:
    """Whether a round of the collector looks at what was read of the bench."""
    kept = benches.bench("b1")
    return any(one is kept for one in gc.get_objects())


def test_the_collector_looks_at_no_bench_that_a_server_has_read(store: Path) -> None:
    with served_benches(store) as benches:
        assert not _looked_at(benches)
        benches.put_tap("b1", "w1", "t1", tap(1, "bare", 0.01, 0.02))
        assert _looked_at(benches), "a tap is no reading"
        benches.rename("b1", "another name")
        assert not _looked_at(benches)
        assert gc.isenabled()


def test_a_program_that_opens_benches_for_itself_leaves_the_collector_alone(store: Path) -> None:
    benches = open_benches(store)
    assert _looked_at(benches)
    assert gc.get_freeze_count() == 0
    benches.close()


def test_after_a_bench_that_cannot_be_read_the_collector_goes_on(store: Path) -> None:
    with served_benches(store) as benches:
        with pytest.raises(InputError):
            benches.bench("bodd")
        assert gc.isenabled()
        with pytest.raises(Missing):
            benches.bench("bnone")
        assert gc.isenabled()


def test_the_collector_rests_until_the_last_of_several_has_read() -> None:
    inside, may_end = threading.Event(), threading.Event()

    def read() -> None:
        with held_long():
            inside.set()
            assert may_end.wait(60.0)

    with ThreadPoolExecutor(1) as pool:
        reading = pool.submit(read)
        assert inside.wait(60.0)
        with held_long():
            assert not gc.isenabled()
        assert not gc.isenabled()
        assert gc.get_freeze_count() == 0
        may_end.set()
        reading.result(60.0)
    assert gc.isenabled()
    assert gc.get_freeze_count() > 0


def test_what_is_left_over_before_a_bench_is_read_is_cleared_up_and_not_held() -> None:
    class Odd:
        """Refers to itself."""

    one = Odd()
    one.it = one  # type: ignore[attr-defined]
    there = weakref.ref(one)
    del one
    with held_long():
        pass
    assert there() is None


def test_a_bench_that_is_let_go_of_is_freed_without_the_collector(store: Path) -> None:
    with served_benches(store) as benches:
        benches.put_tap("b1", "w1", "t1", tap(1, "bare", 0.01, 0.02))
        benches.rename("b1", "another name")
        kept = benches.bench("b1")
        assert kept.text
        assert kept.ending is not None
        bench, entry = weakref.ref(kept), weakref.ref(kept.ending)
        gc.disable()
        del kept
        benches.rename("b1", "a third name")
        assert bench() is None
        assert entry() is None
