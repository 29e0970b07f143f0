"""Lines of a journal that its seals do not prove, in words."""

from ...job.folder.journal import Journal, Unproved

LOST = "what was chosen, fitted and proved before is not known"
"""Of a job without a journal."""


def unproved_words(record: Unproved) -> str:
    """What was found, without where."""
    one = record.first >= record.last
    which = f"line {record.first}" if one else f"lines {record.first} to {record.last}"
    if record.state == "changed":
        return f"not as it was written: {record.found}"
    if record.state == "no_record":
        return f"bytes that are no record stood in {which} and were cut away: a power cut, or put in by hand"
    return f"{which} {'was' if one else 'were'} not sealed: a crash, or added by hand"


def unproved_lines(journal: Journal) -> list[str]:
    """What a journal's seals do not prove, noted or seen now, with what to do."""
    return [
        f"! {journal.path}: {unproved_words(each)}. "
        + (
            "Put back a copy that is"
            if each.state == "changed"
            else "Make sure of it before you go by it ('coaxly job show' lists what it says)"
        )
        for each in journal.unproved
    ]
