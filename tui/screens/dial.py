"""The dial of this machine: the one of last time if it is still there, else it is looked for."""

from logger.angle import Source

from ..entry.instruments import dial_at
from ..entry.rigging import Rigging
from ..job.request import TYPED
from .ask import AskScreen
from .bench import Bench


async def need_dial(bench: Bench, rig: Rigging | None = None) -> Source | None:
    """Where the dial is and how it talks; None where nobody says."""
    memory = bench.memory
    port = (rig.port if rig is not None else "") or memory.get("port")
    profile = (rig.profile if rig is not None else "") or memory.get("profile", "stream-decimal")
    unit = (rig.unit if rig is not None else "") or memory.get("dial_unit", "in")
    if not port and profile != TYPED:
        port = await bench.app.push_screen_wait(AskScreen("Port of the dial, such as /dev/ttyUSB0:"))
        if not port:
            return None
        memory.keep(port=port)
    return dial_at(port, profile, unit)
