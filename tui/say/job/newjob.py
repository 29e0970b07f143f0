"""The questions of a new job, one at a time: what is asked, why, and what an empty answer means."""

from dataclasses import dataclass, replace
from typing import Final


@dataclass(frozen=True, slots=True)
class Question:
    """One question.

    key: what its answer is kept under. short: a word or two in capitals. why: what hangs on it. empty: what
    Enter alone means, "" where an answer is needed.
    """

    key: str
    short: str
    ask: str
    why: str
    empty: str = ""


_QUESTIONS: Final = [
    Question("title", "TITLE", "What is the job called?", "Such as blue van: you find it again by that."),
    Question(
        "face",
        "FACE TOO",
        "Is the face swept as well?  yes or no",
        "It then comes first: shimming the face moves the bore, so a bore that was swept before says "
        "nothing any more.",
        "no, the bore alone",
    ),
    Question(
        "face_radius",
        "FACE RADIUS",
        "At which radius does the dial run on the face?  Such as 6in, 150mm",
        "From the crank's axis to the tip. Tilt and shims are reckoned from it.",
        "not known: no tilt, and no shims for the bolts",
    ),
    Question(
        "bolts",
        "BOLTS",
        "Where are the bolts that hold it to the block?  6@420mm, or x,y x,y ...",
        "6@420mm: six on a circle of 420 mm, the first at 12:00. Seen from behind.",
        "not known: shims are told by station",
    ),
    Question(
        "shims",
        "SHIMS",
        "Which shims are in stock?  Such as 1thou,2thou,5thou",
        "Only what is at hand is put together for a bolt.",
        "not known: what each bolt wants is told",
    ),
    Question(
        "depth",
        "DEPTH",
        "How far is the bore behind the joint that is shimmed?  Such as 90mm",
        "Shims tilt the housing, and so move its bore by tilt x depth.",
        "not known",
    ),
    Question(
        "limit",
        "LIMIT",
        "Which run-out (dial TIR) is permitted?  Such as 5thou, 0.127mm, sae2",
        "The maker's data come first; sae00 ... sae3 are published for that size of housing.",
        "5 thou, the trade's usual limit",
    ),
    Question(
        "limit_source",
        "WHOSE LIMIT",
        "Whose limit is that?",
        "It stands beside the verdict, and in the report.",
        "nobody said",
    ),
    Question(
        "kit",
        "KIT",
        "Which offset dowels are at hand?  Such as 5thou,7thou, or a file drawer.toml",
        "Only what is at hand is advised.",
    ),
    Question(
        "dowels",
        "HOLES",
        "Where are the two dowel holes, seen from behind?  x,y x,y",
        "From the crank's axis, such as -5.5in,-1in 5.5in,-1in. With that two unlike dowels are tried too, "
        "and whether a pair goes on is told.",
        "not known",
    ),
    Question(
        "block",
        "BLOCK",
        "Which block?  Family / number, such as K2 / 118",
        "So that the shop learns which are off, and how. This job does not need it.",
        "not said",
    ),
    Question(
        "housing",
        "HOUSING",
        "Which housing?  Family / number, such as R2 / 07",
        "So that the shop learns which families are off alike. This job does not need it.",
        "not said",
    ),
    Question(
        "stations",
        "STATIONS",
        "At how many places is the dial read in a turn?  3 to 360",
        "More places see more of an oval or three-cornered bore.",
        "8",
    ),
    Question(
        "rig",
        "RIG",
        "Which dial and mount?",
        "A rig that was measured on a bar brings its sag, and the dial's own errors.",
        "not measured",
    ),
]


def questions(usual_kit: str, rigs: list[str]) -> list[Question]:
    """All that can be answered, in order. usual_kit: what is taken where nothing is said. rigs: names of
    those known; where there is none, nobody is asked which."""
    known = {"kit": {"empty": usual_kit}, "rig": {"ask": f"Which dial and mount?  {', '.join(rigs)}"}}
    return [
        replace(question, **known.get(question.key, {}))
        for question in _QUESTIONS
        if rigs or question.key != "rig"
    ]


BEGIN: Final = "Enter next   Esc one back   F2 begin now, the rest as usual   F10 leave it"
CHANGE: Final = "Enter next   Esc one back   F2 keep it as it stands   F10 leave it as it was"


def empty_line(question: Question) -> str:
    """What Enter alone means."""
    return f"Enter alone: {question.empty}" if question.empty else ""
