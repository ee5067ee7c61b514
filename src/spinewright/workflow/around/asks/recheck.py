"""What is asked where time is short: which settings to go back to, what was read, and the arrows of the paper log."""

from spinewright.units import Kind
from spinewright.workflow.around.questions import Form, Question, Task

TASK = Task(
    name="recheck",
    title="Little time, little change",
    about="Put the last good settings back, check the bow in five minutes, and log on paper where phones are barred.",
    questions=(
        Question(
            "back-to", "which settings to go back to", Form.CHOICE, choices=("last good", "start"), example="start"
        ),
        Question("distance", "how far the hits matter", Kind.DISTANCE, example="20 yd"),
        Question("shots", "arrows shot since the last check", Form.WHOLE, example="150"),
        Question("heat", "the bow lay in the heat", Form.YES),
        Question("brace-height", "the brace height now", Kind.LENGTH, example="6 5/8 in"),
        Question("axle-to-axle", "axle to axle now", Kind.LENGTH, example="32 3/4 in"),
        Question("weighed", "the peak weight now, on a scale", Kind.FORCE, example="61 lb"),
        Question("nock-height", "the nock height now, as noted at the start", Kind.LENGTH, example="1/16 in"),
        Question("centre-shot", "the centre shot now", Kind.LENGTH, example="13/16 in"),
        Question("rest-height", "the rest height now, over your mark", Kind.LENGTH, example="1 1/4 in"),
        Question(
            "arrow",
            "an arrow of the paper log",
            Form.LINES,
            example="7 bare: left 2.1 in, high 0.6 in; nock right 2 deg",
        ),
        Question(
            "target",
            "what the paper log was shot at",
            Form.CHOICE,
            usual="unknown",
            choices=("fresh foam", "layered mesh", "worn foam", "bag", "straw", "unknown"),
            example="fresh foam",
        ),
    ),
    long=True,
)
