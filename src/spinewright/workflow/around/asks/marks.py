"""What the task of sight marks asks."""

from spinewright.units import Kind
from spinewright.workflow.around.questions import Form, Question, Task

TASK = Task(
    name="marks",
    title="Sight marks",
    about="Work out sight marks with their doubt, gaps between pins and slopes, and print a strip true to scale.",
    questions=(
        Question(
            "mark",
            "a mark you shot in: distance, what the scale reads, how many arrows",
            Form.LINES,
            example="20 yd, 14.5 mm, 6 arrows",
        ),
        Question("distances", "the distances to mark, else 20 to 60 by 5", Form.TEXT, example="20 to 60 yd by 5 yd"),
        Question("speed", "speed of this arrow on a chronograph", Kind.SPEED, example="272 ft/s"),
        Question("sight-radius", "peep to pin at full draw", Kind.LENGTH, example="33 in"),
        Question(
            "peep", "middle of the peep over the middle of the arrow at full draw", Kind.LENGTH, example="4 1/2 in"
        ),
        Question("per-unit", "how far the sight moves for 1 on its scale", Kind.LENGTH, example="1 mm"),
        Question(
            "numbers",
            "what the scale's numbers do as the sight goes down, where the marks do not tell",
            Form.CHOICE,
            choices=("grow", "fall"),
        ),
        Question("slope", "a slope of the line of sight, else 15 and 30 deg", Form.LINES, example="20 deg"),
        Question(
            "strip",
            "where the printed strip is stuck",
            Form.CHOICE,
            usual="bar",
            choices=("bar", "carriage"),
        ),
    ),
)
