"""What the task of wind asks."""

from spinewright.units import Kind
from spinewright.workflow.around.questions import Form, Question, Task

TASK = Task(
    name="wind",
    title="Wind",
    about="Say how far wind moves the arrow at each distance, and how far to hold off or to move the sight.",
    questions=(
        Question("wind", "a wind speed, else three usual ones", Form.LINES, example="10 mph"),
        Question(
            "from",
            "where it comes from: left, right, ahead, behind, or as on a clock with the target at 12",
            Form.TEXT,
            usual="left",
            example="10 o'clock",
        ),
        Question(
            "distances", "the distances, else 20 to 60 yd or 70 m by 10", Form.TEXT, example="20 to 60 yd by 10 yd"
        ),
        Question("speed", "speed of this arrow on a chronograph", Kind.SPEED, example="272 ft/s"),
    ),
)
