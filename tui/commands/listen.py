"""`coaxly listen PORT`: how does this instrument talk?"""

import argparse
import asyncio
from pathlib import Path
from typing import Any

from logger.errors import PortError
from logger.listen import Understood, as_toml, recognise, settings_to_try
from logger.profile import Profile
from logger.serialport import SerialSource

from .. import output
from ..errors import UsageError


def run(arguments: argparse.Namespace) -> int:
    """Try line settings until one makes sense; show what was understood, and write it."""
    out = Path(arguments.out) if arguments.out else None
    if out is not None and (out.exists() or out.suffix != ".toml"):
        why = "is already there" if out.exists() else "must end in .toml"
        raise UsageError(f"{out} {why}: choose another name")
    understood, heard = asyncio.run(_listen(arguments))
    if understood is None:
        raise UsageError(
            f"{arguments.port}: nothing heard. Is the instrument on, and does it send by itself?"
            if not heard
            else f"{arguments.port}: bytes came ({heard[:24]!r} ...) but no setting makes numbers of them"
        )
    if out is not None:
        try:
            out.write_text(as_toml(understood.profile), encoding="utf-8")
        except OSError as error:
            raise UsageError(f"cannot write {out}: {error.strerror}") from error
    profile = understood.profile
    line = f"{profile.baud} baud {profile.bytesize}{profile.parity}{profile.stopbits:g}"
    if arguments.json:
        output.json_object(_as_dict(understood, out))
        return 0
    asked = f", asked with {profile.request!r}" if profile.request else ""
    lines = [f"{line}{asked}: {understood.shape}", f"  understood {100 * understood.share:.0f} % of lines"]
    lines += [f"  {example}" for example in understood.examples]
    lines.append(
        f"  written to {out}: use it with --profile {out}" if out else "  write it down with --out NAME.toml"
    )
    output.text(lines)
    return 0


def _as_dict(understood: Understood, out: Path | None) -> dict[str, Any]:
    return {
        "profile": understood.profile.to_header(),
        "shape": understood.shape,
        "share": understood.share,
        "lines": understood.lines,
        "examples": list(understood.examples),
        "written": str(out) if out else None,
    }


async def _listen(arguments: argparse.Namespace) -> tuple[Understood | None, bytes]:
    """The first setting that makes sense, and the last bytes that came."""
    heard = b""
    opened = False
    for line in settings_to_try(arguments.baud):
        output.message(
            f"listening at {line.baud} {line.bytesize}{line.parity}{line.stopbits:g} {line.request!r}"
        )
        try:
            data = await _capture(arguments.port, line, arguments.seconds)
        except PortError:
            if not opened:
                raise
            continue  # a setting that this port cannot do
        opened = True
        heard = data or heard
        if (understood := recognise(data, line, arguments.unit or "mm")) is not None:
            return understood, heard
    return None, heard


async def _capture(port: str, line: Profile, seconds: float) -> bytes:
    data = bytearray()
    source = SerialSource(port, line, data.extend, lambda state: None)
    task = asyncio.create_task(source.run())
    done, _ = await asyncio.wait({task}, timeout=seconds)
    if done:
        task.result()
    task.cancel()
    await asyncio.gather(task, return_exceptions=True)
    return bytes(data)
