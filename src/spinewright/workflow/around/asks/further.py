"""What proving a tune further back asks."""

from spinewright.units import Kind
from spinewright.workflow.around.questions import Form, Question, Task

TASK = Task(
    name="further",
    title="Proving it further back",
    about="How far bare may be from fletched further back if the bow is tuned, and how many shots settle it.",
    questions=(
        Question(
            "distances",
            "where to shoot; without an answer at 30, 40 and 50, in yards or in metres as you count",
            Form.TEXT,
            example="30 yd, 40 yd, 50 yd",
        ),
        Question(
            "near",
            "how close to its mark bare is at 20 yd when you call it tuned",
            Kind.LENGTH,
            usual="1/2 in",
            example="1/2 in",
        ),
        Question("each", "how many bare and how many fletched arrows you shoot at a walk", Form.WHOLE, usual="3"),
    ),
    long=True,
)
