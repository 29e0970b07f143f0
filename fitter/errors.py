"""What can go wrong in the fitter, with the facts as attributes."""


class FitterError(ValueError):
    """Base of every error that the fitter raises on purpose; its text is fit for the user.

    exit_code: of a command that ends by it: 2 for what was asked for, 1 where that was in order and the
    finding is that there is no answer.
    """

    exit_code: int = 2


class SetupError(FitterError):
    """A key of the setup holds a value that cannot be meant."""

    def __init__(self, key: str, value: object, wanted: str) -> None:
        """`key` of the setup holds `value`; `wanted` says in words what it may hold."""
        shown = repr(value)
        if len(shown) > 40:
            shown = shown[:37] + "..."
        super().__init__(f"setup: {key} is {shown}, but must be {wanted}")
        self.key, self.value, self.wanted = key, value, wanted


class NotNumbers(FitterError):
    """What was given to be fitted holds no reading, no number, or columns of unlike lengths."""

    def __init__(self, what: str) -> None:
        """`what` is wrong, in words."""
        super().__init__(f"readings to fit: {what}")


class TooFewStations(FitterError):
    """The stations that were read cannot separate an offset from a constant."""

    exit_code = 1

    def __init__(self, stations: int, gap_deg: float) -> None:
        """`stations` distinct angles were read; the largest gap between them is `gap_deg`."""
        if stations < 3:
            why = f"{stations} station{'' if stations == 1 else 's'} read, at least 3 are needed"
        else:
            why = f"the stations leave a gap of {gap_deg:.0f} degrees: read some on the other side"
        super().__init__(f"no result yet: {why}")
        self.stations, self.gap_deg = stations, gap_deg


class NoCircle(FitterError):
    """Readings of gauge steps were given for a sweep."""

    def __init__(self) -> None:
        """Nothing to say of it but that."""
        super().__init__("this is a check of a dial against gauge steps, and no sweep round anything")


class TooManyStations(FitterError):
    """More stations than anybody stops at."""

    def __init__(self, most: int) -> None:
        """`most` stations are taken."""
        super().__init__(f"more than {most} stations: record a sweep like this with an encoder")
        self.most = most
