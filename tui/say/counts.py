"""How many of something there are, as one says it."""


def counted(count: int, one: str) -> str:
    """`1 reading`, `2 readings`. one: the word for one of them, whose plural takes an s."""
    return f"{count} {one}" if count == 1 else f"{count} {one}s"
