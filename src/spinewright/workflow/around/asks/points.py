"""What the task of points asks."""

from spinewright.units import Kind
from spinewright.workflow.around.questions import Form, Question, Task

TASK = Task(
    name="points",
    title="What a tune is worth in points",
    about="Say what you can expect to score, and how many points a smaller group, a set sight or another build buys.",
    questions=(
        Question(
            "round",
            "the round, for your own one name face, distance and arrows too",
            Form.CHOICE,
            usual="50 m",
            choices=("18 m", "25 m", "50 m", "70 m", "own"),
        ),
        Question("face", "the face of your own round", Form.TEXT, example="40 cm triple"),
        Question("distance", "the distance of your own round", Kind.DISTANCE, example="20 yd"),
        Question("arrows", "how many arrows your own round has", Form.WHOLE, example="30"),
        Question(
            "smaller", "how much smaller the group is, or how far its middle is off", Form.LINES, example="1/2 in"
        ),
        Question(
            "group-at", "the distance at which that is measured, else 20 yd or 18 m", Kind.DISTANCE, example="20 yd"
        ),
        Question("point", "point mass of another build to hold against yours", Kind.MASS, example="125 gr"),
        Question("length", "carbon length of that build", Kind.LENGTH, example="28 1/2 in"),
    ),
)
