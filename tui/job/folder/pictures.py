"""Pictures that go into a job: told by what they hold, copied whole, and for paper made small and bare.

What a stranger's file says of its size is believed only up to what it may cost: a picture is decoded within
200 MB or not at all.
"""

import io
import re
import warnings
from pathlib import Path
from typing import Final

from coaxly.logger.files import read_small

from ...entry.names import numbered, was_put
from ...errors import Failure, UsageError
from .shop import plain

LARGEST_BYTES: Final = 60_000_000
_FORMATS: Final = ("JPEG", "PNG", "WEBP", "GIF", "TIFF", "BMP")
_ENDINGS: Final = {
    b"\xff\xd8\xff": (".jpg", ".jpeg"),
    b"\x89PNG\r\n": (".png",),
    b"GIF8": (".gif",),
    b"BM": (".bmp",),
    b"II*\0": (".tif", ".tiff"),
    b"MM\0*": (".tif", ".tiff"),
}
"""Names of pictures by their first bytes; beside them WEBP, whose name comes after RIFF and a length."""
_OF_PHONES: Final = {b"ftyphei": (".heic", ".heif"), b"ftypmif": (".heic", ".heif"), b"ftypavi": (".avif",)}
"""The same of HEIC and AVIF, from the fifth byte on. They are kept, though no report can show them."""

_POINTS: Final = 20_000_000
"""Of a picture that is decoded whole: four bytes each, twice where the decoder keeps its own (WEBP)."""
_POINTS_SCALED: Final = 300_000_000
"""Of a JPEG that is written line by line: it is decoded at an eighth."""
_HEAD: Final = 16
_SMOOTH: Final = ("RGB", "RGBA", "L", "LA", "CMYK")
"""Ways of keeping points that can be made fewer as they are."""


class NotShown(ValueError):
    """A picture that no report can show; the text says why."""


def taken_in(folder: Path, source: Path) -> tuple[str, str]:
    """Copy a picture into a job's folder, on the disk when this returns, under a free name that ends as what
    it holds. Returns that name, and its hash. Raises UsageError or Failure."""
    if not source.is_file():
        raise UsageError(f"{source} is no file")
    try:
        data = read_small(source, LARGEST_BYTES)
    except OSError as error:
        if not error.errno:
            raise UsageError(f"{source}: {error.strerror}: make it smaller first") from error
        raise Failure(f"cannot read {source}: {error.strerror or error}") from error
    endings = _endings(data[:_HEAD])
    try:
        if endings and data[4:11] not in _OF_PHONES:
            bare(data, 64)
    except NotShown as error:
        raise UsageError(f"{source.name}: {error}") from error
    except Exception as error:  # whatever a decoder raises
        raise UsageError(f"{source.name} is damaged, or no picture: {why_not(error)}") from error
    if not endings:
        raise UsageError(f"{source.name} is no picture: give a JPEG, PNG, WEBP, GIF, TIFF or BMP file")
    return _copied(folder, source, data, endings)


def why_not(error: Exception) -> str:
    """What a decoder says, without the names that only it knows."""
    from PIL import UnidentifiedImageError

    return "nothing in it can be shown" if isinstance(error, UnidentifiedImageError) else str(error)[:80]


def _copied(folder: Path, source: Path, data: bytes, endings: tuple[str, ...]) -> tuple[str, str]:
    from hashlib import sha256

    stem, said = plain(source.stem) or "photo", re.sub(r"[^.a-z0-9]", "", source.suffix.lower())
    end = said if said in endings else endings[0]
    path = next(each for each in numbered(folder / f"{stem}{end}") if was_put(each, data))
    return path.name, sha256(data).hexdigest()


def _endings(head: bytes) -> tuple[str, ...]:
    """What the name of a picture that begins so may end by; () for what is none."""
    if head[:4] == b"RIFF" and head[8:12] == b"WEBP":
        return (".webp",)
    if head[4:11] in _OF_PHONES:
        return _OF_PHONES[head[4:11]]
    return next((ends for first, ends in _ENDINGS.items() if head.startswith(first)), ())


def bare(data: bytes, side: int) -> tuple[bytes, tuple[int, int]]:
    """A picture as a JPEG of no more than so many points a side, the right way up, with nothing in it but
    what is seen: no place, no comment, no profile. Returns it and its size.

    Raises NotShown where it would cost too much, and whatever else a decoder may.
    """
    from PIL import Image, ImageOps

    if data[8:12] == b"WEBP":
        _bound(_points_of_webp(data), _POINTS)  # its decoder takes its memory on opening
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # too many points are bounded below; the rest is a camera's bad marks
        try:
            image = Image.open(io.BytesIO(data), formats=_FORMATS)
        except Image.DecompressionBombError as error:
            raise NotShown(
                "it says that it has more points than any camera: make it smaller first"
            ) from error
        with image:
            scaled = image.format == "JPEG" and not image.info.get("progressive")
            _bound(image.width * image.height, _POINTS_SCALED if scaled else _POINTS)
            image.draft("RGB", (side, side))
            small = image if image.mode in _SMOOTH else image.convert("RGB")
            small.thumbnail((side, side))
            try:
                upright = ImageOps.exif_transpose(small).convert("RGB")
            except Exception:  # what a camera wrote may be anything: then as it lies
                upright = small.convert("RGB")
    seen = Image.new("RGB", upright.size)
    seen.paste(upright)  # points alone: what else a file says goes with its picture
    out = io.BytesIO()
    seen.save(out, "JPEG", quality=80)
    return out.getvalue(), seen.size


def _bound(points: int, most: int) -> None:
    """Raises NotShown where decoding would take too much memory."""
    if points > most:
        raise NotShown(f"{points / 1e6:.0f} million points are too many: make it smaller first")


def _points_of_webp(data: bytes) -> int:
    """How many points a WEBP says it has (RFC 9649: of its canvas, or of its only frame)."""
    kind, at = data[12:16], data[20:30].ljust(10, b"\0")
    if kind == b"VP8X":
        wide, high = int.from_bytes(at[4:7], "little") + 1, int.from_bytes(at[7:10], "little") + 1
    elif kind == b"VP8L":
        bits = int.from_bytes(at[1:5], "little")
        wide, high = (bits & 0x3FFF) + 1, (bits >> 14 & 0x3FFF) + 1
    else:
        wide, high = (int.from_bytes(at[k : k + 2], "little") & 0x3FFF for k in (6, 8))
    return wide * high
