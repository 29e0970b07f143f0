"""What job.toml says against what was said when it counted, in sentences."""

from ...entry.lengths import show_length
from ...job.folder.snapshot import Snapshot
from ...job.folder.sworn import Edited, Ruling

_NAMES = {
    "limit_source": "whose limit it is",
    "pilot_limit": "pilot limit",
    "flywheel_limit": "flywheel limit",
}


def edited_sentence(one: Edited) -> str:
    """One key that was changed by hand."""
    now, before = one.now or "nothing", one.before or "nothing"
    where = f"{one.file} says" if one.file else "the journal says"
    return f"job.toml was edited by hand: {_NAMES.get(one.key, one.key)} is {now!r} now, {where} {before!r}"


def agree_words(job: Snapshot) -> str:
    """What to do where it is right as it stands now."""
    return f"if that is right: coaxly job changed {job.folder}"


def by_hand_sentence(ruled: Ruling, job: Snapshot, unit: str) -> str:
    """That sweeps are not judged by the limit that job.toml has now."""
    assert ruled.by_hand is not None
    return (
        f"the limit of {show_length(ruled.by_hand.tir, unit)} was put into job.toml by hand; "
        f"{_made_for(ruled, unit)}, and is judged by that; {agree_words(job)}"
    )


def limit_sentences(ruled: Ruling, job: Snapshot, unit: str) -> list[str]:
    """What is to be known of the limit beside a verdict; none where all were made for it."""
    if ruled.by_hand is not None:
        return [by_hand_sentence(ruled, job, unit)]
    if ruled.limit is None or not ruled.made_for:
        return []
    return [
        f"{_made_for(ruled, unit)}, and is judged by the limit of now, {show_length(ruled.limit.tir, unit)}"
    ]


def _made_for(ruled: Ruling, unit: str) -> str:
    each = [f"{file} was swept for {show_length(limit, unit)}" for file, limit in ruled.made_for]
    return "; ".join(each)
