"""What the cutting plan asks."""

from spinewright.units import Kind
from spinewright.workflow.around.questions import Form, Question, Task

TASK = Task(
    name="cut-plan",
    title="Starting length and cutting plan",
    about="Plan where to cut test shafts first, what each cut should do, and when another point is the better step.",
    questions=(
        Question("expected", "the shaft length a chart expects to end at, end to end", Kind.LENGTH, example="28 in"),
        Question(
            "spare", "how much longer the first test length is", Kind.LENGTH, usual="1 1/2 in", example="1 1/2 in"
        ),
        Question("step", "the usual cut", Kind.LENGTH, usual="1/2 in", example="1/2 in"),
        Question("point", "another point you have", Form.LINES, example="100 gr"),
    ),
    long=True,
)
