"""`coaxly listen PORT`: how does this instrument talk?"""

import argparse
import asyncio
import sys
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Final

from coaxly.logger.errors import PortError
from coaxly.logger.line.finder import Phase
from coaxly.logger.line.listen import Understood, as_toml, recognise, settings_to_try
from coaxly.logger.profile import Profile

from .. import output
from ..errors import FINDING, FINE, Failure, NoResult, UsageError
from ..job.many.allports import capture
from ..plain.asking import asked_unit

_TO_DO: Final[tuple[tuple[Phase, str], ...]] = (
    ("plunger", "Push the dial's plunger in and out, slowly, again and again"),
    ("crank", "Leave the dial alone and turn the crank a little; if no line holds its angle, do nothing"),
)


@dataclass(frozen=True)
class Heard:
    """What came at one line setting."""

    line: Profile
    data: bytes


def run(arguments: argparse.Namespace) -> int:
    """Try line settings until one makes sense; show what was understood, ask about the rest, and write it."""
    out = Path(arguments.out) if arguments.out else None
    if out is not None and (out.exists() or out.suffix != ".toml"):
        why = "is already there" if out.exists() else "must end in .toml"
        raise UsageError(f"{out} {why}: choose another name")
    heard, understood = asyncio.run(_listen(arguments))
    asking = sys.stdin is not None and sys.stdin.isatty() and not arguments.json
    if understood.question and asking:
        understood = asyncio.run(_ask(arguments, heard, understood))
    if not understood.unit_known and asking:
        understood = replace(understood, profile=replace(understood.profile, unit=asked_unit()))
    if out is not None and not understood.question:
        _write(out, understood)
    written = out if out is not None and not understood.question else None
    if arguments.json:
        output.json_object(_as_dict(understood, written, arguments.port))
    else:
        output.text(_lines(understood, written, arguments.port))
    return FINDING if understood.question else FINE


def _write(out: Path, understood: Understood) -> None:
    if not understood.unit_known:
        raise UsageError(
            "no line says the unit of the dial, so nothing was written: add --unit mm or --unit in "
            f"({', '.join(understood.examples)} came)"
        )
    try:
        out.write_text(as_toml(understood.profile), encoding="utf-8")
    except OSError as error:
        raise Failure(f"cannot write {out}: {error.strerror}") from error


def _lines(understood: Understood, out: Path | None, port: str) -> list[str]:
    profile = understood.profile
    asked = f", asked with {profile.request!r}" if profile.request else ""
    lines = [
        f"{_settings(profile)}{asked}: {understood.shape}",
        f"  understood {100 * understood.share:.0f} % of lines",
        *(f"  {example}" for example in understood.examples),
    ]
    if len(understood.fields) > 1:
        lines += ["  numbers of a line:", *(f"    {field}" for field in understood.fields)]
    if understood.question:
        lines += [f"  OPEN: {understood.question}", f"  {_HOW_TO_SAY}"]
    if not understood.unit_known:
        lines.append("  no line says its unit: say it with --unit mm or --unit in")
    if out is not None:
        lines.append(f"  written to {out}")
    return [*lines, f"  next: {_next(understood, out, port)}"]


_HOW_TO_SAY: Final = (
    "say what each number of a line is with --fields, such as --fields clock,value or --fields angle,value "
    "(value, angle, clock, label), or run this on a terminal and move the plunger when asked"
)


def _next(understood: Understood, out: Path | None, port: str) -> str:
    unit = "" if understood.unit_known else " --unit mm|in"
    if out is None:
        return f"coaxly listen {port}{unit} --out dial.toml writes it down"
    angle = " --angle combined" if understood.has_angle else ""
    return f"coaxly sweep --port {port} --profile {out}{angle}"


def _as_dict(understood: Understood, out: Path | None, port: str) -> dict[str, Any]:
    return {
        "profile": understood.profile.to_header(),
        "shape": understood.shape,
        "share": understood.share,
        "lines": understood.lines,
        "examples": list(understood.examples),
        "fields": list(understood.fields),
        "open": understood.question,
        "unit_known": understood.unit_known,
        "written": str(out) if out else None,
        "next": _next(understood, out, port),
    }


async def _listen(arguments: argparse.Namespace) -> tuple[Heard, Understood]:
    """The first setting that makes sense. Raises PortError, Failure if nothing came, NoResult if nothing of
    it makes sense."""
    last = b""
    opened = False
    for line in settings_to_try(arguments.baud):
        asked = f", asking with {line.request!r}" if line.request else ""
        output.message(f"listening at {_settings(line)}{asked}")
        try:
            data = await capture(arguments.port, line, arguments.seconds)
        except PortError:
            if not opened:
                raise
            continue  # a setting that this port cannot do
        opened = True
        last = data or last
        if (understood := _understood(arguments, Heard(line, data))) is not None:
            return Heard(line, data), understood
    if not last:
        raise Failure(f"{arguments.port}: nothing heard. Is the instrument on, and does it send by itself?")
    raise NoResult(
        f"{arguments.port}: bytes came ({last[:24]!r} ...) but no setting makes numbers of them: "
        "give the speed that the instrument is set to with --baud"
    )


def _understood(
    arguments: argparse.Namespace, heard: Heard, more: Mapping[Phase, bytes] | None = None
) -> Understood | None:
    try:
        return recognise(heard.data, heard.line, arguments.unit or "", arguments.fields, more)
    except ValueError as error:
        raise UsageError(f"--fields: {error}") from error


async def _ask(arguments: argparse.Namespace, heard: Heard, understood: Understood) -> Understood:
    """Have the plunger and the crank moved, and look again which numbers follow."""
    more: dict[Phase, bytes] = {}
    for phase, words in _TO_DO:
        seconds = max(3.0, arguments.seconds)
        output.message(f"{understood.question} {words}, for {seconds:.0f} s, from now.")
        more[phase] = await capture(arguments.port, heard.line, seconds)
    return _understood(arguments, heard, more) or understood


def _settings(line: Profile) -> str:
    return f"{line.baud} baud {line.bytesize}{line.parity}{line.stopbits:g}"
