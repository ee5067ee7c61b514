"""What was said under a circumstance, counted, and whether a refusal is one clear sentence."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field

from soak.kills.acts import Judged
from soak.kills.child import Ended
from spinewright.errors import SpinewrightError

__all__ = ["Tries", "said_by", "unclear"]

_MOST = 400  # characters of a sentence that is read


@dataclass(slots=True)
class Tries:
    """What one circumstance did to one act; ``said`` is the last refusal."""

    circumstance: str
    act: str
    outcomes: Counter[str] = field(default_factory=Counter)
    sums: Counter[str] = field(default_factory=Counter)
    said: str = ""
    faults: list[str] = field(default_factory=list)

    def refused(self, sentence: str) -> None:
        """One more refusal, which has to be one clear sentence."""
        self.outcomes["refused"] += 1
        self.said = sentence
        if why := unclear(sentence):
            self.faults.append(f"{why}: {sentence[:300]!r}")

    def add(self, found: Judged) -> None:
        """What the judge found afterwards."""
        for name in ("acknowledged", "lost", "half", "unsound"):
            self.sums[name] += getattr(found, name)
        self.faults += found.wrong()

    def row(self) -> tuple[str, ...]:
        """The figures as they stand on the page."""
        outcomes = (str(self.outcomes[name]) for name in ("done", "refused"))
        sums = (str(self.sums[name]) for name in ("lost", "half", "unsound"))
        return (self.circumstance, self.act, str(self.outcomes.total()), *outcomes, *sums, str(len(self.faults)))


def said_by(ended: Ended) -> str:
    """The refusal a child ended with, as a person sees it; '' when it ended well."""
    if not ended.broke:
        return ""
    kind, _, rest = ended.broke.partition(": ")
    if kind == "RuntimeError":  # a command of the command line, which has said it itself
        lines = [one for one in ended.printed.splitlines() if "could not" in one or one.startswith("this is a fault")]
        return "\n".join(lines) or ended.broke
    return rest.rpartition(" (")[0] if kind in _kinds(SpinewrightError) else ended.broke


def _kinds(error: type[SpinewrightError]) -> set[str]:
    """The names of every error of the tree that a program or page says in its own words."""
    return {error.__name__}.union(*(_kinds(one) for one in error.__subclasses__()))


def unclear(sentence: str) -> str:
    """Why ``sentence`` is not one clear sentence; '' when it is."""
    if "\n" in sentence:
        return "more than one line"
    if "fault of spinewright" in sentence or "Traceback" in sentence or "Error:" in sentence:
        return "it shows the inside of the program"
    if not sentence.rstrip().endswith("."):
        return "no whole sentence"
    return "too long to be read" if len(sentence) > _MOST else ""
