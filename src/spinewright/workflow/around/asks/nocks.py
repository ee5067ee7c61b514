"""What turning the nocks of a set asks."""

from spinewright.units import Kind
from spinewright.workflow.around.questions import Form, Question, Task

TASK = Task(
    name="nocks",
    title="Nocks of the whole set",
    about="Read nock series shaft by shaft: is there a stiff side, how sure is that, and how far to turn each nock.",
    questions=(
        Question(
            "readings",
            "series that are not logged, one shot a line, angles counted from where the nock stands now",
            Form.LIST,
            example="shaft, angle, where",
        ),
        Question("through", "what these were shot through", Form.CHOICE, usual="paper", choices=("paper", "target")),
        Question("distance", "bow to paper or target for these", Kind.DISTANCE, usual="6 ft", example="6 ft"),
        Question(
            "turning",
            "which way the nock was turned for these, seen from behind it",
            Form.CHOICE,
            usual="clockwise",
            choices=("clockwise", "counterclockwise"),
        ),
        Question("arrows", "what these arrows were", Form.CHOICE, usual="bare", choices=("bare", "fletched")),
        Question(
            "to",
            "turn each nock to its cleanest angle, or to where its stiff side stands upright",
            Form.CHOICE,
            usual="clean",
            choices=("clean", "stiff"),
        ),
        Question("set", "the numbers of all shafts of the set", Form.TEXT, example="1-12"),
    ),
)
