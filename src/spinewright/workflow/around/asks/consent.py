"""What consent before a cut asks."""

from spinewright.units import Kind
from spinewright.workflow.around.questions import Form, Question, Task

TASK = Task(
    name="consent",
    title="Consent before a cut",
    about="Say what a cut takes, what cannot be undone and who agreed to it, with a sheet to read together and sign.",
    questions=(
        Question("cut-to", "the shaft length after the cut, end to end", Kind.LENGTH, example="28 3/4 in"),
        Question("shafts", "how many shafts are cut", Form.WHOLE, example="6"),
        Question(
            "agreed",
            "who agreed, on which day, to which shaft length, for how many shafts",
            Form.LINES,
            example="the owner of the bow, 2026-05-03, 28 3/4 in, 6 shafts",
        ),
        Question("expect", "work out what the cut should do to bare and fletched", Form.YES, example="yes"),
    ),
    long=True,
)
