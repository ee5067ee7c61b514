"""Benches for the tests of the tasks around the tune; all of them invented."""

from __future__ import annotations

import json
from collections.abc import Sequence
from functools import lru_cache

from jsonschema_rs import Draft202012Validator

from spinewright import logbook
from spinewright.units import Hand, System
from spinewright.workflow import OpenBench, schema, start_bench
from spinewright.workflow.around.account import Account
from spinewright.workflow.around.running import run

__all__ = ["asked", "example"]


@lru_cache(maxsize=8)
def example(hand: Hand = Hand.RIGHT, system: System = System.INCH) -> OpenBench:
    """The invented bench that ``spinewright new --example`` writes, before any shot."""
    return start_bench(str(logbook.template(hand, system, filled=True)))


@lru_cache(maxsize=1)
def _held() -> Draft202012Validator:
    """The schema of accounts, read once."""
    return Draft202012Validator(schema("account"))


def asked(name: str, bench: OpenBench | None = None, **given: str | Sequence[str]) -> Account:
    """The account of a task, held against its schema; names of questions with _ for -."""
    lines = {key.replace("_", "-"): (one,) if isinstance(one, str) else tuple(one) for key, one in given.items()}
    account = run(bench or example(), name, lines)
    _held().validate(json.loads(json.dumps(account.to_json(), allow_nan=False)))
    return account
