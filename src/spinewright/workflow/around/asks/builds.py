"""What the comparison of builds asks."""

from spinewright.units import Kind
from spinewright.workflow.around.questions import Form, Question, Task

USES = ("indoor spots", "field or 3-d", "long shots in wind", "fixed heads", "mechanical heads")

TASK = Task(
    name="builds",
    title="What you could build from what you own",
    about="Rank the arrows you could build from your own shafts and points for this bow, side by side.",
    questions=(
        Question("for", "what you shoot", Form.CHOICE, usual="indoor spots", choices=USES, example="field or 3-d"),
        Question(
            "shafts",
            "your shafts",
            Form.LIST,
            example="name, spine, weight, outer diameter, inner diameter, length; if known material, straightness, "
            "insert, nock, cost per dozen",
        ),
        Question(
            "points",
            "your points and heads",
            Form.LIST,
            example="mass; if known name, kind, length, blades, blade area, width, cost per dozen",
        ),
        Question("invented", "try it with an invented list of shafts and points", Form.YES, example="yes"),
        Question("distance", "how far you shoot", Kind.DISTANCE, example="40 yd"),
        Question("drop-to", "the distance drop is counted to", Kind.DISTANCE, example="45 yd"),
        Question("wind", "the crosswind drift is counted for", Kind.SPEED, usual="3 m/s", example="10 mph"),
        Question("face", "the face points are counted on", Form.TEXT, example="60 cm"),
        Question("range-error", "how far off you judge a distance", Kind.FRACTION, usual="6 %", example="5 %"),
        Question("wind-error", "how far off you judge a crosswind", Kind.SPEED, usual="1 m/s", example="2 mph"),
        Question("widest-shaft", "the thickest shaft your round allows, looked up", Kind.LENGTH, example="9.3 mm"),
    ),
    long=True,
)
