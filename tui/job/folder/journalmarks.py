"""Who vouches for a job's journal: its seals, and the signatures of workshops over its lines.

A seal holds every byte before it, so each names all of its forerunners too; it needs no secret. A signature
says besides who wrote the lines since the one it names, and found those before them as they are.
"""

import hashlib
import io
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import msgspec

from coaxly.logger.recording.records import Seal, Signed, decoded

_mark: Final[msgspec.json.Decoder[Seal | Signed]] = msgspec.json.Decoder(Seal | Signed)


@dataclass(frozen=True, slots=True)
class Signature:
    """One that stands in a journal.

    first, last: the lines that its signer wrote, as it says; the last is its own.
    holds: whether the key that it names has signed all up to there.
    """

    first: int
    last: int
    key: str
    holds: bool


@dataclass(frozen=True, slots=True)
class Vouched:
    """What a journal's seals and signatures speak for.

    lines: how many whole ones there are. seals: line of each that holds, by its hash.
    """

    lines: int
    seals: dict[str, int]
    signatures: tuple[Signature, ...]

    def unsigned(self, keys: frozenset[str] | None = None) -> list[tuple[int, int]]:
        """Spans of lines, first and last, that no signature speaks for that holds and is of `keys` (None: of
        any)."""
        signed = set(self.seals.values())
        for each in self.signatures:
            if each.holds and (keys is None or each.key in keys):
                signed.update(range(each.first, each.last + 1))
        spans: list[tuple[int, int]] = []
        for line in range(1, self.lines + 1):
            if line in signed:
                continue
            if spans and all(between in self.seals.values() for between in range(spans[-1][1] + 1, line)):
                spans[-1] = (spans[-1][0], line)
            else:
                spans.append((line, line))
        return spans


def vouched(data: bytes) -> Vouched:
    """What the marks in a journal's bytes speak for."""
    seals: dict[str, int] = {}
    signatures: list[Signature] = []
    lines = 0
    for lines, mark, right in _marks(data):
        if isinstance(mark, Signed):
            signatures.append(_signature(mark, lines, right))
        elif mark is not None and right:
            seals[mark.sha256] = lines
    return Vouched(lines, seals, tuple(signatures))


def seals_of(data: bytes) -> dict[str, int]:
    """Line of each seal that holds, by its hash; no signature is looked at."""
    return {mark.sha256: line for line, mark, right in _marks(data) if right and isinstance(mark, Seal)}


def _marks(data: bytes) -> Iterator[tuple[int, Seal | Signed | None, bool]]:
    """Each line by its number: the seal or signature that it is, and whether that counts and hashes what
    stands before it."""
    digest = hashlib.sha256()
    for before, line in enumerate(io.BytesIO(data)):
        mark = decoded(_mark, line) if b'"sha256"' in line else None
        right = mark is not None and mark.sha256 == digest.hexdigest() and mark.lines == before
        yield before + 1, mark, right
        digest.update(line)


def _signature(mark: Signed, line: int, right: bool) -> Signature:
    from coaxly.logger.recording.signing import journal_signature_holds

    holds = right and 1 <= mark.since <= line and journal_signature_holds(mark)
    return Signature(mark.since if holds else line, line, mark.key, holds)
