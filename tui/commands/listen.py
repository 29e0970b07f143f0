"""`coaxly listen PORT`: how does this instrument talk?"""

import argparse
import asyncio
import shlex
import sys
from pathlib import Path
from typing import Any, Final

from coaxly.logger.errors import PortError
from coaxly.logger.line.listen import Understood, as_toml
from coaxly.logger.line.questions import About, Told
from coaxly.logger.profile import Profile, load

from .. import output
from ..entry.names import free, put_new
from ..errors import FINDING, FINE, Failure, NoResult, UsageError
from ..job.many.oneport import LOOK_S, Ear, settings_of
from ..options.machine import said_to_listen
from ..plain.dialasking import asked_all, encoder_asked
from ..plain.profilelines import explained, heard_for
from ..say.sweep import dialhunt
from ..say.turning import encoder_words

_PATIENCE: Final = 3.0
"""Times as long as asked for that a line is heard which speaks, but slowly: the machine may be busy."""
_EXPLAINED_S: Final = 3.0
_ENOUGH_LINES: Final = 10

_HOW_TO_SAY: Final[dict[About, str]] = {
    "plunger": "push the plunger in and out while this runs, or say with --fields what each number is",
    "which": "say which with --fields, such as --fields clock,value or --fields angle,value",
    "crank": "say with --fields what each number is: value, angle, clock or label",
    "unit": "no line says its unit: say it with --unit mm or --unit in",
    "sign": "write a profile by hand, see the manual's page profiles",
    "wraps": "set the instrument to send a sign",
    "shows": "say with --scale how much of the unit one count is, such as --scale 0.001",
}


def run(arguments: argparse.Namespace) -> int:
    """Try line settings until one makes sense; show what was understood, ask about the rest, and write it."""
    if arguments.profile:
        return _explain(arguments)
    if arguments.encoder:
        return _encoder(arguments)
    out = _new_file(arguments.out)
    ear, understood, failed = asyncio.run(_listen(arguments))
    done = understood.question is None and not failed
    if out is not None and done:
        put_new(out, as_toml(understood.profile).encode())
    elif out is not None and understood.question is not None and understood.question.about == "unit":
        raise UsageError(
            "no line says the unit of the dial, so nothing was written: add --unit mm or --unit in "
            f"({', '.join(understood.examples)} came)"
        )
    written = out if done else None
    next_ = _next(understood, written, arguments)
    lines = [*_lines(ear, understood, written, failed), f"  next: {next_}"]
    output.answer(_as_dict(ear, understood, written, next_), lines, as_json=arguments.json)
    only_unit = understood.question is not None and understood.question.about == "unit"
    return FINE if done or (only_unit and not failed) else FINDING


def _new_file(name: str | None) -> Path | None:
    if name is None:
        return None
    out = Path(name)
    if out.suffix != ".toml":
        raise UsageError(f"{out} must end in .toml: choose another name")
    free(out)
    return out


def _encoder(arguments: argparse.Namespace) -> int:
    """How an encoder talks and counts. Raises PortError, NoResult, Failure or UsageError."""
    if arguments.json or sys.stdin is None or not sys.stdin.isatty():
        raise UsageError("--encoder asks for a turn of the crank: run it on a terminal, without --json")
    out = _new_file(arguments.out)
    profile = asyncio.run(encoder_asked(arguments.port, _settings(arguments), arguments.seconds))
    lines = encoder_words(profile)
    if out is not None:
        put_new(out, as_toml(profile).encode())
    sweep = ["sweep", "--angle", "encoder", "--encoder", arguments.port, "--encoder-profile", str(out)]
    next_ = _again(arguments, "crank.toml") if out is None else shlex.join(["coaxly", *sweep])
    output.text([*lines, f"  next: {next_}"])
    return FINE


def _explain(arguments: argparse.Namespace) -> int:
    """What a profile makes of the lines that come. Raises ProfileError, PortError or UsageError."""
    if arguments.json or arguments.out:
        raise UsageError("--profile only explains, in words: leave out --json and --out")
    profile = load(arguments.profile)
    heard = asyncio.run(heard_for(arguments.port, profile, max(_EXPLAINED_S, arguments.seconds)))
    lines, fine = explained(profile, heard)
    output.text([f"{dialhunt.setting_words(profile)}, pattern {profile.pattern}", *lines])
    return FINE if fine else FINDING


def _lines(ear: Ear, understood: Understood, out: Path | None, failed: str) -> list[str]:
    profile, question = understood.profile, understood.question
    asked = f", asked with {profile.request!r}" if profile.request else ""
    lines = [
        f"{dialhunt.setting_words(profile)}{asked}: {understood.shape}",
        f"  understood {100 * understood.share:.0f} % of lines",
        *(f"  {example}" for example in understood.examples),
    ]
    if len(understood.fields) > 1:
        lines += ["  numbers of a line:", *(f"    {field}" for field in dialhunt.field_lines(understood))]
    if check := dialhunt.check_words(understood):
        lines.append(f"  {check}")
    if ear.refused:
        lines.append(
            f"  settings that the port refused: {', '.join(map(dialhunt.setting_words, ear.refused))}"
        )
    if question is not None and question.about == "unit":
        lines.append(f"  {_HOW_TO_SAY['unit']}")
    elif question is not None:
        choices = "; ".join(f"{key}: {text}" for key, _, text in dialhunt.choices_of(understood))
        lines += [f"  OPEN: {dialhunt.question_words(ear.hearing)} {choices}".rstrip()]
        lines.append(f"  {_HOW_TO_SAY[question.about]}, or run this on a terminal and answer")
    if failed:
        lines.append(f"  OPEN: {failed}")
    if out is not None:
        lines.append(f"  written to {out}")
    return lines


def _next(understood: Understood, out: Path | None, arguments: argparse.Namespace) -> str:
    """What to type next, with all that was said."""
    question = understood.question
    if out is None and question is not None and question.about != "unit":
        return f"{_HOW_TO_SAY[question.about]}: {_command(arguments, arguments.out or 'dial.toml')}"
    if out is None:
        return _again(arguments, "dial.toml", "" if understood.unit_known else " --unit mm|in")
    angle = ["--angle", "combined"] if understood.has_angle else []
    return shlex.join(["coaxly", "sweep", "--port", arguments.port, "--profile", str(out), *angle])


def _again(arguments: argparse.Namespace, out: str, unit: str = "") -> str:
    return f"{_command(arguments, out, unit)} writes it down"


def _command(arguments: argparse.Namespace, out: str, unit: str = "") -> str:
    said = shlex.join(["coaxly", "listen", arguments.port, *said_to_listen(arguments)])
    return f"{said}{unit} --out {shlex.quote(out)}"


def _as_dict(ear: Ear, understood: Understood, out: Path | None, next_: str) -> dict[str, Any]:
    return {
        "profile": understood.profile.to_header(),
        "shape": understood.shape,
        "share": understood.share,
        "lines": understood.lines,
        "examples": list(understood.examples),
        "fields": dialhunt.field_lines(understood),
        "open": dialhunt.question_words(ear.hearing),
        "unit_known": understood.unit_known,
        "written": str(out) if out else None,
        "next": next_,
    }


async def _listen(arguments: argparse.Namespace) -> tuple[Ear, Understood, str]:
    """The port at the first setting that makes sense, what its lines hold, and why that is not to be kept
    ("": it is). Raises PortError, UsageError; Failure if nothing came, NoResult if none makes sense."""
    told = Told(roles=arguments.fields, unit=arguments.unit or "", factor=arguments.scale or 0.0)
    ear = Ear(
        arguments.port,
        _settings(arguments),
        asks=arguments.request is None,
        told=told,
        silent_s=arguments.seconds,
        waits=True,
    )
    ear.on_setting = _listening
    task = asyncio.create_task(ear.listen())
    try:
        await _understood(ear, task)
        await _more(ear, arguments.seconds)
        asking = sys.stdin is not None and sys.stdin.isatty() and not arguments.json
        failed = await asked_all(ear.hearing, max(3.0, arguments.seconds)) if asking else ""
        if ear.hearing.understood is None:
            raise NoResult(f"{ear.port}: {failed}")
        return ear, ear.hearing.understood, failed
    except ValueError as error:
        raise UsageError(f"--fields: {error}") from error
    finally:
        task.cancel()
        await asyncio.gather(task, return_exceptions=True)


def _settings(arguments: argparse.Namespace) -> list[Profile]:
    return list(settings_of(arguments.baud, arguments.parity, arguments.terminator, arguments.request))


async def _understood(ear: Ear, task: "asyncio.Task[None]") -> None:
    """Wait until its lines make sense. Raises what is wrong."""
    slow = False
    while ear.hearing.understood is None:
        await asyncio.wait({task}, timeout=0.1)
        if ear.slow and not slow:
            slow = True
            output.message(f"{ear.port}: {dialhunt.OPENS_SLOWLY}")
        if task.done():
            task.result()
        if ear.state == "failed" and not ear.opened:
            raise PortError(ear.port, ear.why.removeprefix(f"{ear.port}: "))
        if ear.hearing.legible and ear.hearing.understood is None:
            raise NoResult(
                f"{ear.port}: its lines are text ({ear.hearing.newest[:40]!r}), but no number of them can be "
                "taken for the reading: sign or point may be coded. Write a profile by hand, see the manual"
            )
        if ear.rounds and not ear.heard:
            raise Failure(
                f"{ear.port}: nothing heard, nor answered to any usual request. Is the instrument on, is its "
                "data key pressed? If you know what it waits for, say it with --request"
            )
        if ear.rounds:
            raise NoResult(
                f"{ear.port}: bytes came ({ear.heard[-24:]!r} ...) but no setting makes a reading of them. "
                "Give the speed that the instrument is set to with --baud"
            )
    if says := dialhunt.says_words(ear.hearing.understood):
        raise NoResult(f"{ear.port}: every line says {says}, then listen again")


async def _more(ear: Ear, seconds: float) -> None:
    """Hear a little more than the least, longer where it comes slowly."""
    await asyncio.sleep(seconds)
    for _ in range(round((_PATIENCE - 1.0) * seconds / LOOK_S)):
        if ear.hearing.came >= _ENOUGH_LINES:
            break
        await asyncio.sleep(LOOK_S)
    ear.hearing.look()


def _listening(line: Profile) -> None:
    asked = f", asking with {line.request!r}" if line.request else ""
    output.message(f"listening at {dialhunt.setting_words(line)}{asked}")
