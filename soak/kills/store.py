"""Acts on what the logbook holds: a session file brought along, and computed answers kept."""

from __future__ import annotations

import json
import sqlite3
from contextlib import closing
from pathlib import Path

from soak.kills.acts import Forked, Judged, broken_store, rows_of
from soak.kills.child import Ended, Tell, Work

__all__ = ["AnswersKept", "BroughtAlong"]

_STORE = "benches.sqlite"
_ANSWERS = 6


class BroughtAlong(Forked):
    """A session file that becomes a bench, as 'serve --bench' makes it."""

    about = "import of a session file into the logbook"

    def prepare(self, folder: Path) -> None:
        """A store with another bench, and a session file with many events."""
        from spinewright import logbook
        from spinewright.units import System
        from spinewright.workflow.benches import served_benches
        from spinewright.workflow.benches.invented import invented_session
        from spinewright.workflow.benches.starting import make_bench

        text = invented_session()
        for number in range(40):
            text += "\n" + logbook.event_text({"kind": "settings good", "id": f"k{number}", "note": "x" * 200})
        (folder / "s.toml").write_text(text, encoding="utf-8")
        with served_benches(folder / "store") as benches:
            make_bench(benches, "b1", {"from": "quick"}, System.INCH)

    def work(self, folder: Path) -> Work:
        """Bring it along."""
        from spinewright.workflow.benches import served_benches
        from spinewright.workflow.benches.starting import bring_along

        def work(tell: Tell) -> None:
            with served_benches(folder / "store") as benches:
                bring_along(benches, folder / "s.toml")
                tell("brought")

        return work

    def judge(self, folder: Path, ended: Ended) -> Judged:
        """The bench is there with the file's very text, or not at all."""
        found = Judged(acknowledged=len(ended.told))
        path, text = folder / "store" / _STORE, (folder / "s.toml").read_text(encoding="utf-8")
        found.unsound = int(bool(broken_store(path)))
        there = _text_of_new(path)
        found.half = int(there not in ("", text))
        found.lost = int(bool(ended.told) and not there)
        found.untold = int(bool(there) and not ended.told)
        again = self.killed(folder, None)
        if again.broke or _text_of_new(path) != text or len(rows_of(path, "benches")) != 2:
            found.faults.append(f"it could not be brought along after the kill: {again.broke}")
        return found


def _text_of_new(path: Path) -> str:
    """Head and events of the bench that was brought along, one behind the other; '' when no row of it is there."""
    with closing(sqlite3.connect(path)) as connection:
        heads = connection.execute("SELECT text FROM heads WHERE bench LIKE 'f%'").fetchall()
        events = connection.execute("SELECT text FROM events WHERE bench LIKE 'f%' ORDER BY seq").fetchall()
    return "".join(row[0] for row in [*heads, *events])


class AnswersKept(Forked):
    """Answers kept in the logbook as they are computed: of 'next' all, of 'map' the newest in the place of the last."""

    about = "the belief's answers kept in the logbook"

    def prepare(self, folder: Path) -> None:
        """A store with an invented bench and one answer of each kind."""
        from spinewright.units import System
        from spinewright.workflow.benches import served_benches
        from spinewright.workflow.benches.starting import make_bench

        with served_benches(folder) as benches:
            make_bench(benches, "b1", {"from": "demo"}, System.INCH)
        self.killed(folder, None)

    def work(self, folder: Path) -> Work:
        """Keep six more of each kind, numbered onwards."""
        from spinewright.workflow.benches import served_benches
        from spinewright.workflow.benches.answers import keep_answer

        def work(tell: Tell) -> None:
            with served_benches(folder) as benches:
                kept = benches.bench("b1")
                first = len(_answers(folder, "next"))
                for number in range(first, first + _ANSWERS):
                    body = {"number": number, "much": ["0123456789" * 10] * 300}
                    for what in ("next", "map"):
                        keep_answer(benches, kept, what, {}, body)
                        tell(f"{what} {number}")

        return work

    def judge(self, folder: Path, ended: Ended) -> Judged:
        """Every answer is whole; those of 'next' stand in order, and of 'map' there is exactly one."""
        found = Judged(acknowledged=len(ended.told))
        found.unsound = int(bool(broken_store(folder / _STORE)))
        try:
            told, newest = _answers(folder, "next"), _answers(folder, "map")
        except ValueError as error:
            found.half += 1
            found.faults.append(str(error))
            return found
        first = [one for one in ended.told if one.startswith("next")]
        second = [one for one in ended.told if one.startswith("map")]
        last = _ANSWERS - 1  # of those the act began with
        wanted = last + len(first)
        found.lost = max(0, wanted + 1 - len(told)) + int(len(newest) != 1 or newest[0] < last + len(second))
        found.untold = max(0, len(told) - wanted - 1) + max(0, newest[-1] - last - len(second))
        if told != list(range(len(told))) or found.untold > 1:
            found.faults.append(f"answers {told} and {newest} are there after {ended.told}")
        again = self.killed(folder, None)
        if again.broke or len(_answers(folder, "next")) != len(told) + _ANSWERS:
            found.faults.append(f"no more answers could be kept after the kill: {again.broke}")
        return found


def _answers(folder: Path, what: str) -> list[int]:
    """The numbers of the answers that are kept. Raises ValueError when one is not whole."""
    with closing(sqlite3.connect(folder / _STORE)) as connection:
        rows = connection.execute("SELECT body FROM answers WHERE what = ? ORDER BY seq", (what,)).fetchall()
    found = []
    for (text,) in rows:
        body = json.loads(text)["body"]
        if len(body["much"]) != 300:
            raise ValueError(f"an answer of {what} is not whole")
        found.append(int(body["number"]))
    return found
