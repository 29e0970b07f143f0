"""A new job: what it is called."""

from ..job.index import open_job
from ..job.journal import Opened, now
from .ask import AskScreen
from .bench import Bench


async def new_job(bench: Bench) -> str:
    """Ask, and begin it."""
    title = await bench.app.push_screen_wait(AskScreen("What is the job called? Such as blue van"))
    if title:
        open_job(bench.shop, title, {}, Opened(time=now(), title=title))
    return ""
