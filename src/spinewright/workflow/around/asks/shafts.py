"""What the account of a set's shafts asks."""

from spinewright.workflow.around.questions import Form, Question, Task

TASK = Task(
    name="shafts",
    title="Shafts by number",
    about="Count what each numbered shaft has shot, and say which to flex and look at, and which never to shoot again.",
    questions=(
        Question("set", "the numbers of all shafts of the set", Form.TEXT, example="1-12"),
        Question(
            "hit",
            "a hard or sideways hit: shaft, day, what it hit",
            Form.LINES,
            example="3, 2026-05-02, glanced off the frame",
        ),
        Question(
            "retired",
            "a shaft you retired: number, day, why",
            Form.LINES,
            example="5, 2026-05-01, nock end worn",
        ),
        Question(
            "unlogged",
            "shots that are not in the logbook",
            Form.LIST,
            example="shaft; if any bare, fletched, paper",
        ),
        Question("most", "your own rule: retire after so many shots", Form.WHOLE, example="2000"),
        Question("today", "the day of the session", Form.TEXT, example="2026-05-03"),
    ),
)
