"""What the check against limits of rounds and laws asks."""

from spinewright.units import Kind
from spinewright.workflow.around.questions import Form, Question, Task

TASK = Task(
    name="limits",
    title="Limits of your round or your law",
    about="Hold bow and arrow against limits you looked up yourself, each with the day you read it.",
    questions=(
        Question(
            "limit",
            "a limit as you read it, with the day and where",
            Form.LINES,
            example="shaft diameter at most 9.3 mm, 2026-03-01, indoor round",
        ),
        Question("head-width", "the widest cut of the head", Kind.LENGTH, example="1 1/8 in"),
        Question("today", "the day to count from", Form.TEXT, example="2026-05-03"),
    ),
)
