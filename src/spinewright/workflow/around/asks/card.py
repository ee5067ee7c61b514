"""What is asked for the cards of a build and bow: for whom, from whom, on which day."""

from spinewright.workflow.around.questions import Form, Question, Task

TASK = Task(
    name="card",
    title="The card of this build",
    about="One page for the bench and one for the customer: build, settings, evidence, sight marks and cautions.",
    questions=(
        Question(
            "for",
            "whose card",
            Form.CHOICE,
            usual="both",
            choices=("bench", "customer", "both"),
            example="both",
        ),
        Question("customer", "the customer's name", Form.TEXT, example="archer number 3"),
        Question("by", "who set it up", Form.TEXT, example="bench 2"),
        Question("day", "the day on the card", Form.TEXT, example="2026-05-03"),
        Question("note", "words to the customer", Form.LINES, example="come back after 200 arrows"),
    ),
)
