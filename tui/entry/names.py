"""Names as people write them."""


def plainly(text: str) -> str:
    """A name as it is compared: capitals and spaces make no other."""
    return " ".join(text.casefold().split())
