"""What is usual in a shop: how its readings scatter, and how far from round the housings of each family
are."""

from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from ..errors import TooFewStations
from ..fitting.believed import believed
from ..fitting.prepare import level
from ..mixture.learnt import Opinion, learnt, opinion
from ..mixture.priors import USUAL, Sizes
from ..reading.setup import Setup
from ..reading.stations import Stations
from ..units import MM_PER_THOU


@dataclass(frozen=True, slots=True)
class Swept:
    """One sweep. housing: it and how it sat, which sweeps of one name share. piece: the housing itself,
    however it sat. family: of the housing, "" where nobody said."""

    setup: Setup
    stations: Stations
    housing: str
    piece: str
    family: str = ""


@dataclass(frozen=True, slots=True)
class Form:
    """Of a family of housings: coefficients of the oval and of three lobes, mm. pieces: how many were
    swept."""

    oval: Sizes
    lobes: Sizes
    pieces: int


@dataclass(frozen=True, slots=True)
class InShop:
    """Standard deviations with the share of each, mm. noise: of a reading, () where no sweep tells; sweeps:
    that do. form: by family."""

    noise: Sizes
    sweeps: int
    form: dict[str, Form]


def in_shop(sweeps: Sequence[Swept]) -> InShop:
    """What is usual by these sweeps. Those that did not stop at stations, and those that carry no vector,
    tell nothing."""
    alone = [seen for one in sweeps for seen in _opinion([one])]
    noise = learnt(USUAL.noise, [one.noise for one in alone], [1.0] * len(alone)) if alone else ()
    families: dict[str, list[Swept]] = defaultdict(list)
    for one in sweeps:
        if one.family:
            families[one.family].append(one)
    form = {family: found for family, of in sorted(families.items()) if (found := _form(of)) is not None}
    return InShop(_in_mm(noise), len(alone), form)


def _form(sweeps: Sequence[Swept]) -> Form | None:
    """Of one family. A piece counts once, however often and however it sat when it was swept."""
    together: dict[tuple[str, str], list[Swept]] = defaultdict(list)
    for one in sweeps:
        together[one.piece, one.housing].append(one)
    found = [(piece, seen) for (piece, _), of in together.items() for seen in _opinion(of)]
    if not found:
        return None
    times = Counter(piece for piece, _ in found)
    counts = [1.0 / times[piece] for piece, _ in found]
    return Form(
        oval=_in_mm(learnt(USUAL.oval, [seen.oval for _, seen in found], counts)),
        lobes=_in_mm(learnt(USUAL.rest, [seen.rest for _, seen in found], counts)),
        pieces=len(times),
    )


def _opinion(sweeps: Sequence[Swept]) -> Iterator[Opinion]:
    """What sweeps of one housing say together, as if nothing were known of the shop; nothing of what
    cannot."""
    if any(one.stations.continuous for one in sweeps):
        return
    setups = [replace(one.setup, study=None) for one in sweeps]
    read = [(setup, level(setup, one.stations)) for setup, one in zip(setups, sweeps, strict=True)]
    try:
        yield opinion(believed(read))
    except TooFewStations:
        return


def _in_mm(sizes: Sizes) -> Sizes:
    return tuple((size * MM_PER_THOU, share) for size, share in sizes)
