"""What making a set alike asks."""

from spinewright.units import Kind
from spinewright.workflow.around.questions import Form, Question, Task

TASK = Task(
    name="alike",
    title="Making the set alike",
    about="Sort your shafts: which go together, which to leave out, where weight helps, what that gains on the target.",
    questions=(
        Question(
            "shafts",
            "your shafts, measured one by one",
            Form.LIST,
            example="shaft; if measured mass, spine 1, spine 2, spine 3, spine 4, straightness, length",
            needed=True,
        ),
        Question("count", "how many arrows make a set", Form.WHOLE, usual="12", example="12"),
        Question("sets", "how many sets to look for", Form.WHOLE, usual="1", example="2"),
        Question(
            "weighed",
            "what was weighed",
            Form.CHOICE,
            usual="bare shafts",
            choices=("bare shafts", "finished arrows"),
        ),
        Question("cut-to", "the length all bare shafts will be cut to", Kind.LENGTH, example="28 1/4 in"),
        Question(
            "turn",
            "how far a shaft was turned from one spine reading to the next",
            Form.CHOICE,
            usual="90 deg",
            choices=("90 deg", "45 deg"),
        ),
        Question(
            "spine-test",
            "the spine test: current is 28 in and 880 g, older is 26 in and 2 lb",
            Form.CHOICE,
            usual="current",
            choices=("current", "older"),
        ),
        Question(
            "stiff-sides",
            "how the stiff sides will stand at the nocks",
            Form.CHOICE,
            usual="as they come",
            choices=("as they come", "upright"),
        ),
        Question("distance", "the distance the spread is counted at", Kind.DISTANCE, example="50 m"),
        Question(
            "heads",
            "what they will carry",
            Form.CHOICE,
            usual="field points",
            choices=("field points", "fixed-blade heads"),
        ),
        Question("step", "the smallest weight you can add", Kind.MASS, usual="1 gr", example="1 gr"),
    ),
    long=True,
)
