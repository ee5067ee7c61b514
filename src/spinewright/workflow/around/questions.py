"""What a task asks, and the task itself as both faces know it; loads nothing heavy."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

from spinewright.units import Kind

__all__ = ["Form", "Question", "Task"]


class Form(Enum):
    """How an answer is written where it is not a quantity."""

    TEXT = "text"
    NUMBER = "a number"
    WHOLE = "a whole number"
    YES = "yes or no"
    CHOICE = "one of a few words"
    LINES = "one or more lines"
    LIST = "a table with commas"


@dataclass(frozen=True, slots=True)
class Question:
    """One question of a task.

    name     of the option and of the field, lower case with hyphens
    asks     the question in a few plain words
    form     a kind of quantity ('20 yd'), or a Form; LINES may be answered several times, LIST is the text of a CSV
    usual    what is taken when nothing is answered; None = the task goes without
    choices  the words of a CHOICE
    example  as a person would write it
    needed   whether the task cannot go without an answer
    """

    name: str
    asks: str
    form: Kind | Form
    usual: str | None = None
    choices: tuple[str, ...] = ()
    example: str = ""
    needed: bool = False


@dataclass(frozen=True, slots=True)
class Task:
    """One task around the tune.

    name       its command, and its place in the page's address
    title      as a heading
    about      what it does, one sentence
    questions  in the order asked
    long       whether it takes more than a second, so that progress is shown
    """

    name: str
    title: str
    about: str
    questions: tuple[Question, ...]
    long: bool = False

    def question(self, name: str) -> Question | None:
        """The question with this name."""
        return next((one for one in self.questions if one.name == name), None)
