"""What proving the tune to the owner of the bow asks."""

from spinewright.units import Kind
from spinewright.workflow.around.questions import Form, Question, Task

TASK = Task(
    name="proof",
    title="The proof you can see",
    about="Plan and read the proof of a tune: groups before and after in blind mixed order, walk-back and torque.",
    questions=(
        Question("owner", "does the owner of the bow shoot it", Form.YES, example="yes"),
        Question("change", "the smallest change of your groups worth knowing", Kind.FRACTION, usual="20 %"),
        Question("distance", "distance; without an answer where you test", Kind.DISTANCE, example="30 yd"),
        Question("end", "arrows in one end", Form.WHOLE, usual="6"),
        Question("most", "most arrows in a day before you tire", Form.WHOLE, usual="72"),
        Question("seed", "a number of the helper's choice; the sealed order is drawn from it", Form.WHOLE, usual="1"),
        Question("from-end", "the number of today's first end", Form.WHOLE, usual="1"),
        Question(
            "holes", "what was shot, one arrow a line, ends numbered as shot", Form.LIST, example="end, where, bad"
        ),
        Question("unseen", "was the order kept from the archer to the last", Form.YES, example="yes"),
        Question("hit", "how far from the spot still counts as a hit", Kind.LENGTH, example="1.5 in"),
        Question(
            "walk-back",
            "holes with one sight setting from further and further back, before and after",
            Form.LIST,
            example="distance, where, when",
        ),
        Question(
            "torque",
            "holes with the hand turned a little left or right on purpose, before and after",
            Form.LIST,
            example="turned, where, when",
        ),
    ),
)
