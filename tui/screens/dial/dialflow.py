"""The dial of this machine: the one of last time if it is still there, else it is looked for."""

from collections.abc import Sequence
from typing import Final

from coaxly.logger.angle.source import Source
from coaxly.logger.errors import ProfileError
from coaxly.logger.port.ports import is_there, ports
from coaxly.logger.profile import load

from ...entry.instruments import dial_at
from ...entry.rigging import Rigging
from ...job.sweep.request import TYPED
from ...say.sweep.dialhunt import ASK_NAME, BY_HAND, TYPED_UNIT, UNITS_TYPED
from ..base import Bench
from ..small.askscreens import AskScreen, QuestionScreen
from .encoderflow import keep_profile, learn_encoder
from .finddialscreen import FindDialScreen

_SAID: Final = "said"
"""In place of a unit: each line says its own."""


async def need_dial(bench: Bench, rig: Rigging | None = None) -> Source | None:
    """Where the dial is and how it talks; None where nobody says. Raises LoggerError or UsageError."""
    if rig is not None and rig.port:
        return dial_at(rig.port, rig.profile or "stream-decimal", rig.unit)
    if bench.memory.get("dial_unit") and (known := _remembered(bench)) is not None:
        return known
    port = bench.memory.get("port")
    said = f"The dial of last time ({port}) is not there now." if port else BY_HAND
    return _remembered(bench) if await find_dial(bench, said) else None


def _remembered(bench: Bench) -> Source | None:
    """The dial of last time; None where it is gone."""
    memory = bench.memory
    port, profile = memory.get("port"), memory.get("profile", "stream-decimal")
    if profile != TYPED and not is_there(port):
        return None
    unit = memory.get("dial_unit")
    try:
        # The file is the user's own: what it says now counts, and what was remembered where it says nothing.
        said = load(profile).unit or (unit if unit in ("mm", "in") else "")
        return dial_at(port, profile, said)
    except ProfileError:
        return None


def bare_unit(bench: Bench) -> str:
    """The unit of a typed number that carries none, where no profile can say it; "" where it does."""
    unit = bench.memory.get("dial_unit")
    return unit if unit in ("thou", "um") else ""


async def find_dial(bench: Bench, said: str = BY_HAND) -> bool:
    """Look for it, and keep what was found. Returns whether it was."""
    while (heard := await bench.app.push_screen_wait(FindDialScreen(_ports_here, said))) is not None:
        if heard.encoder:
            said = await learn_encoder(bench, heard.port)
        elif heard.understood is not None:
            profile = heard.understood.profile
            name = await bench.app.push_screen_wait(AskScreen(ASK_NAME)) or "dial"
            kept = keep_profile(bench.shop, name, profile)
            bench.memory.keep(port=heard.port, profile=str(kept), dial_unit=profile.unit or _SAID)
            return True
        elif unit := await bench.app.push_screen_wait(QuestionScreen(TYPED_UNIT, UNITS_TYPED)):
            bench.memory.keep(port="", profile=TYPED, dial_unit=unit)
            return True
    return False


def _ports_here() -> Sequence[str]:
    return [port.name for port in ports()]
