"""Rigs: what is known of a dial and its mount, kept in the shop as `rigs/NAME.toml`, for people to read too.

What a sweep takes from one goes into its header, so that a replay needs no such file.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any, Final

import msgspec

from coaxly.fitter import Setup
from coaxly.fitter.dial import DialCheck
from coaxly.fitter.sag import Sag
from coaxly.logger.durable import make_folder
from coaxly.logger.files import in_words

from ...entry.keys import read_table, table_in, unknown
from ...entry.lengths import parse_length
from ...entry.rigging import Rigging
from ...errors import UsageError, doing
from . import details
from .shop import asked_for, free_recording, plain

FOLDER: Final = "rigs"
_HEADING: Final = "By coaxly sweep; yours to edit."
_DEVIATES: Final = 1.96
"""Standard uncertainties in a 95 % half-width (JCGM 100:2008, table G.1)."""


class SagPart(msgspec.Struct, frozen=True):
    """The droop of the arm: amount and half-width of its 95 % interval, lengths with units."""

    date: date
    amount: str
    u95: str
    recording: str = ""


class DialPart(msgspec.Struct, frozen=True):
    """The dial against steps.

    calibration: [shown, to be added] pairs. u95: of an amplitude that is measured with it. hysteresis: the
    most by which it reads differently in and out. repeatability: standard deviation of a reading.
    """

    date: date
    calibration: list[tuple[str, str]]
    u95: str
    hysteresis: str = "0mm"
    repeatability: str = "0mm"
    resolution: str = "0mm"
    recording: str = ""


class Rig(msgspec.Struct, frozen=True):
    """What a file says; None where that was not measured yet."""

    name: str = ""
    sag: SagPart | None = None
    dial: DialPart | None = None


@dataclass(frozen=True, slots=True)
class RigFile:
    """A rig by its file."""

    path: Path

    @property
    def name(self) -> str:
        """What it is called in headers and budgets."""
        return self.path.stem

    def _read(self) -> tuple[Rig, dict[str, Any]]:
        """What is written there, and what it says besides of how the dial sits, as keys of a setup. Raises
        UsageError."""
        if (table := table_in(self.path)) is None:
            there = asked_for(self.path.parent.parent)
            raise UsageError(
                f"no rig {self.name!r} ({self.path}): "
                f"coaxly sweep --feature sag --rig {self.name}{there} measures one"
            )
        try:
            besides = {key: value for key, value in table.items() if key not in Rig.__struct_fields__}
            for part, kind in (("sag", SagPart), ("dial", DialPart)):
                for key in given if isinstance(given := table.get(part), dict) else ():
                    if key not in kind.__struct_fields__:
                        raise UsageError(f"{part}: {unknown(key, kind.__struct_fields__)}")
            return msgspec.convert(table, Rig), read_table(besides, Setup)[0]
        except UsageError as error:
            raise UsageError(f"{self.path}: {error}") from error
        except ValueError as error:
            raise UsageError(f"{self.path}: {in_words(error)}: mend that line") from error

    def setup(self) -> dict[str, Any]:
        """The keys that a sweep's header takes from it, mm. Raises UsageError, naming the file."""
        rig, besides = self._read()
        try:
            keys = {**besides, **self._keys(rig)}
            Setup.from_header(keys)
            return keys
        except ValueError as error:
            raise UsageError(f"{self.path}: {error}") from error

    def _keys(self, rig: Rig) -> dict[str, Any]:
        found = [part.date for part in (rig.sag, rig.dial) if part is not None]
        if not found:
            raise UsageError(f"{self.path} says neither sag nor dial: measure one of them first")
        keys: dict[str, Any] = {"rig": self.name, "rig_date": min(found).isoformat()}
        if rig.sag is not None:
            sd = parse_length(rig.sag.u95) / _DEVIATES
            keys |= {"sag_mm": parse_length(rig.sag.amount), "sag_sd_mm": sd}
        if rig.dial is not None:
            dial = rig.dial
            keys |= {
                "calibration": [[parse_length(at), parse_length(add)] for at, add in dial.calibration],
                "calibration_sd_mm": parse_length(dial.u95) / _DEVIATES,
                "hysteresis_mm": parse_length(dial.hysteresis),
                "resolution_mm": parse_length(dial.resolution),
            }
        return keys

    def keep_sag(self, sag: Sag, found: date, recording: Path) -> None:
        """Write what a sweep on a bar found. Raises UsageError or Failure."""
        self._keep("sag", {
            "date": found, "amount": _mm(sag.amount), "u95": _mm(sag.u95), "recording": recording.name,
        })  # fmt: skip

    def keep_dial(self, check: DialCheck, found: date, recording: Path) -> None:
        """Write what gauge steps found. Raises UsageError or Failure."""
        gap = abs(check.hysteresis or 0.0) + (check.hysteresis_u95 or 0.0)
        self._keep("dial", {
            "date": found,
            "calibration": [[_mm(at), _mm(add)] for at, add in check.table],
            "u95": _mm(_DEVIATES * check.calibration_sd),
            "hysteresis": _mm(gap),
            "repeatability": _mm(check.repeatability),
            "resolution": _mm(check.resolution or 0.0),
            "recording": recording.name,
        })  # fmt: skip

    def _keep(self, part: str, values: Mapping[str, Any]) -> None:
        self._make_folder()
        details.heading(self.path, _HEADING)
        details.edit(self.path, {"name": self.name, part: values})

    def free_recording(self, feature: str) -> Path:
        """A free name beside it for a recording; the folder is there then. Raises UsageError or Failure."""
        self._make_folder()
        return free_recording(self.path.parent, f"{self.name}-{feature}")

    def _make_folder(self) -> None:
        """A new shop has none for its rigs."""
        with doing(f"make {self.path.parent}"):
            make_folder(self.path.parent)


def rig_known(rig: Rigging, shop: Path, said: Mapping[str, Any] | None = None) -> dict[str, Any]:
    """The keys of a setup: what was measured of the rig, over it what a table says, and over both what was
    said of this sweep. Raises UsageError."""
    known = rig_named(rig.rig, shop).setup() if rig.rig else {}
    told = {**rig.setup, **(said or {})}
    if "sag_mm" in told:
        known.pop("sag_sd_mm", None)  # that of another sag
    return {**known, **told}


def rig_named(name: str, shop: Path) -> RigFile:
    """A rig by its name in the shop, or by its file. Raises UsageError."""
    if name.endswith(".toml"):
        return RigFile(Path(name))
    if not plain(name):
        raise UsageError(f"{name[:40]!r} is no name of a rig: give letters and digits, or a .toml file")
    return RigFile(shop / FOLDER / f"{plain(name)}.toml")


def _mm(length: float) -> str:
    """A length that loses nothing that was measured."""
    return f"{length:.6f}mm"
