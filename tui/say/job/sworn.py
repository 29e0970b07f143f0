"""What job.toml says against what was said when it counted, in sentences."""

from itertools import takewhile

from ...entry.lengths import show_length
from ...job.folder.snapshot import Snapshot
from ...job.folder.sworn import Edited, Ruling

_NAMES = {"limit_source": "whose limit it is"}
_LONGEST = 60


def edited_sentence(one: Edited) -> str:
    """One key that was changed by hand."""
    now, before = _around(one.now, one.before), _around(one.before, one.now)
    where = f"{one.file} says" if one.file else "the journal says"
    name = _NAMES.get(one.key, one.key.replace("_", " "))
    return f"job.toml was edited by hand: {name} is {now!r} now, {where} {before!r}"


def _around(text: str, other: str) -> str:
    """So much of a long text that where it begins to differ from the other is in it."""
    if len(text) <= _LONGEST:
        return text or "nothing"
    alike = sum(1 for _ in takewhile(lambda pair: pair[0] == pair[1], zip(text, other, strict=False)))
    first = max(0, alike - _LONGEST // 2)
    return f"{'…' * (first > 0)}{text[first : first + _LONGEST]}{'…' * (first + _LONGEST < len(text))}"


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
