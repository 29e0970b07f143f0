"""Small words that every page says alike: how many, how likely, and how a sentence begins."""

from typing import Final

from ..entry.lengths import written

EACH_WAY: Final = "sideways and upwards"
"""Of a scatter that is as large in x as in y; no "in" behind a length, which may be one of inches."""


def counted(count: int, one: str) -> str:
    """`1 reading`, `2 readings`. one: the word for one of them, whose plural takes an s."""
    return f"{count} {one}" if count == 1 else f"{count} {one}s"


def likely(probability: float) -> str:
    """A share of a hundred that is neither certain nor impossible."""
    percent = 100.0 * probability
    if percent > 99.9:
        return f"> {written(99.9, '.1f')} %"
    return f"< {written(0.1, '.1f')} %" if percent < 0.1 else f"{written(percent, '.1f')} %"


def capital(text: str) -> str:
    """As a sentence begins."""
    return text[:1].upper() + text[1:]


def shortened(name: str, most: int = 36) -> str:
    """A name that people gave, where there is little room: its beginning, and its end, where a number may
    stand."""
    end = most // 3
    return name if len(name) <= most else f"{name[: most - end - 2].rstrip()}..{name[-end:].lstrip()}"


def whole_words(text: str, most: int) -> str:
    """As many of its words as have room; of one that is longer than half of that, its beginning."""
    head = text[: most + 1].rpartition(" ")[0].rstrip() if len(text) > most else text
    return head if 2 * len(head) >= most else text[:most]


def uncapital(text: str) -> str:
    """As it goes on."""
    return text[:1].lower() + text[1:]
