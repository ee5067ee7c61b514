"""What is asked when something on the bow was changed, or is going to be."""

from spinewright.units import Kind
from spinewright.workflow.around.questions import Form, Question, Task

TASK = Task(
    name="changed",
    title="When something changes",
    about="New string, weight, cam, rest or archer, or a second bow: what to expect, recheck and start anew.",
    questions=(
        Question(
            "what",
            "what changes",
            Form.CHOICE,
            choices=("string", "weight", "cam", "rest", "archer", "bow"),
            example="weight",
            needed=True,
        ),
        Question("more", "how much more peak weight", Kind.FORCE, example="2 lb"),
        Question("less", "or how much less", Kind.FORCE, example="2 lb"),
        Question("weighed", "or the peak weight afterwards, on a scale", Kind.FORCE, example="63.5 lb"),
        Question("draw-length", "the draw length afterwards", Kind.LENGTH, example="28 1/4 in"),
        Question("brace-height", "the brace height afterwards", Kind.LENGTH, example="6 1/2 in"),
        Question("let-off", "the let-off afterwards", Kind.FRACTION, example="80 %"),
        Question("string-mass", "what the new string weighs with its servings", Kind.MASS, example="98 gr"),
        Question(
            "rest-kind",
            "the kind of the rest afterwards",
            Form.CHOICE,
            choices=("drop-away", "blade", "contained"),
            example="blade",
        ),
        Question(
            "level",
            "how closely the other archer shoots",
            Form.CHOICE,
            choices=("learning", "steady", "expert"),
            example="steady",
        ),
    ),
    long=True,
)
