"""The encoder on this machine's crank: learnt by a turn, kept with the dials, used by its sweeps."""

from dataclasses import replace
from pathlib import Path
from typing import Final

from coaxly.logger.angle.source import Source
from coaxly.logger.durable import make_folder
from coaxly.logger.errors import ProfileError
from coaxly.logger.line.listen import as_toml
from coaxly.logger.port.ports import is_there
from coaxly.logger.profile import Profile, load

from ...entry.names import numbered, was_put
from ...entry.rigging import Rigging
from ...errors import UsageError, doing
from ...job.folder.shop import plain
from ...job.steps.jobsteps import is_called_out
from ...job.sweep.run import SweepRun
from ...say.turning import AGAIN_ANSWERS, ASK_AGAIN, FORGOTTEN, GONE, KNOWN, encoder_words
from ..base import Bench
from ..small.askscreens import QuestionScreen
from .turnscreen import TurnScreen

_FOLDER: Final = "dials"
_NAME: Final = "crank"


def keep_profile(shop: Path, name: str, profile: Profile) -> Path:
    """Write a dial's profile into the shop under a name that no other has. Raises UsageError or
    Failure."""
    folder, stem = shop / _FOLDER, plain(name) or "dial"
    data = as_toml(profile).encode()
    with doing(f"keep the dial in {folder}"):
        make_folder(folder)
        names = numbered(folder / f"{stem}.toml")
        return next(path for path in names if was_put(path, data) or path.read_bytes() == data)


async def learn_encoder(bench: Bench, port: str) -> str:
    """Have the encoder at a port learnt, or the one that is known forgotten; what is to be said of it, ""
    for nothing. Raises Failure."""
    known = bench.memory.get("encoder")
    if known:
        question = ASK_AGAIN.format(port=known)
        answer = await bench.app.push_screen_wait(QuestionScreen(question, AGAIN_ANSWERS))
        if answer == "forget":
            bench.memory.keep(encoder="", encoder_profile="")
            return FORGOTTEN
        if not answer:
            return ""
    profile = await bench.app.push_screen_wait(TurnScreen(port))
    if profile is None:
        return ""
    kept = keep_profile(bench.shop, _NAME, profile)
    bench.memory.keep(encoder=port, encoder_profile=str(kept))
    return KNOWN.format(words=encoder_words(profile)[0])


def with_encoder(bench: Bench, rig: Rigging, dial: Source) -> Rigging:
    """The rig with the encoder of this machine, where the job says nothing else and the dial's lines hold no
    angle. Raises UsageError where it is gone."""
    if dial.profile.typed or not is_called_out(rig, dial):
        return rig
    port, profile = bench.memory.get("encoder"), bench.memory.get("encoder_profile")
    if not port:
        return rig
    try:
        load(profile)
    except ProfileError:
        return rig
    if not is_there(port):
        raise UsageError(GONE.format(port=port))
    return replace(rig, angle="encoder", encoder=port, encoder_profile=profile)


def encoder_again(bench: Bench, run: SweepRun) -> Source | None:
    """The encoder of a sweep that goes on, described by its recording; None where its port is gone."""
    port = bench.memory.get("encoder")
    return Source(port, run.pipeline.angle.encoder_profile) if port and is_there(port) else None
