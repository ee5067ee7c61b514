"""What holding broadheads against field points asks."""

from spinewright.units import Kind
from spinewright.workflow.around.questions import Form, Question, Task

TASK = Task(
    name="heads",
    title="Field points and broadheads",
    about="What a broadhead does against a field point of the same weight, foretold and logged, and the aim for it.",
    questions=(
        Question("kind", "what kind of head", Form.CHOICE, usual="fixed", choices=("fixed", "mechanical")),
        Question("blades", "how many blades", Form.WHOLE, example="3"),
        Question("blade-area", "side area of ONE blade in flight", Kind.AREA, example="0.2 in2"),
        Question("width", "cutting width", Kind.LENGTH, example="1 1/8 in"),
        Question("long", "how far the head stands out in front of the shaft", Kind.LENGTH, example="1.3 in"),
        Question("mass", "what the head weighs", Kind.MASS, example="100 gr"),
        Question("distance", "distance; without an answer where you test", Kind.DISTANCE, example="30 yd"),
        Question("each", "how many arrows with each head you shoot at a walk", Form.WHOLE, usual="3"),
    ),
    long=True,
)
