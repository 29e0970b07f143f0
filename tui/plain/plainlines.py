"""A sweep without a screen: prompts on standard error, operator lines on standard input.

This is also the mode for people who use a screen reader.
"""

import asyncio
import contextlib
import io
import math
import sys
import threading
from typing import Final

from .. import output
from ..endings import ended_by_signals
from ..errors import UsageError
from ..job.many.openline import SLOW_S
from ..job.sweep.linestate import LinkState
from ..job.sweep.run import SweepRun
from ..say.sweep.dialhunt import OPENS_SLOWLY
from ..say.sweep.live import so_far_line, sure_line, typed_like
from ..say.sweep.sweepwords import prompt, told
from ..voice import Speaker, Voice
from .typedlines import TypedLines

HELP: Final = "empty line: take this station; station 45: take it at 45 degrees; undo; note TEXT; done"

_LOOK_S: Final = 0.25
"""How often what is new is looked for, to be spoken."""

HELP_STEPS: Final = "at each step: an empty line takes the dial, or type its reading; undo; note TEXT; done"

_OPENING_S: Final = 0.02
HELP_TYPED: Final = (
    "type the reading at each place, {like} (45 14.9thou: at 45 degrees); undo; note TEXT; done"
)


async def sweep_in_plain_lines(
    run: SweepRun,
    unit: str,
    bare_unit: str = "",
    voice: Voice | None = None,
) -> None:
    """Run to the end of the sweep or of standard input. Raises LoggerError, FitterError or UsageError.

    Whatever a screen would show as it happens (a lost cable, a silent dial) is said as it happens. A
    signal to end leaves the recording sealed, to be gone on with. bare_unit: of numbers that are typed
    without one, where it is not that of the profile. voice: that speaks it too.
    """
    run.listen(lambda news: output.message(told(news, unit)))
    lines = standard_input()
    sweep = asyncio.create_task(run.play())
    typed = TypedLines(run, bare_unit) if run.pipeline.profile.typed else None
    operator = asyncio.create_task(_operate(run, lines, unit, typed))
    speaking = asyncio.create_task(_speak(run, Speaker(voice), unit)) if voice is not None else None
    with ended_by_signals(run.stop):
        try:
            await asyncio.wait({sweep, operator}, return_when=asyncio.FIRST_COMPLETED)
            if operator.done():
                operator.result()
            await sweep
        finally:
            operator.cancel()
            if speaking is not None:
                await _quiet(speaking, run)
    if typed is not None and typed.amiss:
        raise UsageError(typed.amiss)


async def _quiet(speaking: "asyncio.Task[None]", run: SweepRun) -> None:
    """Let the finding of a sweep that is over be spoken; there is none of one that failed."""
    if not run.finished.is_set():
        speaking.cancel()
    with contextlib.suppress(asyncio.CancelledError):
        await speaking


async def _speak(run: SweepRun, speaker: Speaker, unit: str) -> None:
    """Look at the sweep as a screen would, to its end, and at the finding last."""
    while not run.finished.is_set():
        speaker.look(run.view(), unit)
        with contextlib.suppress(TimeoutError):
            await asyncio.wait_for(run.finished.wait(), _LOOK_S)
    of_engine = run.pipeline.setup.feature not in ("sag", "steps")
    speaker.look(run.view(), unit, run.result if of_engine else None)


async def _connected(run: SweepRun) -> None:
    """Wait for the ports: one that is not there is told before anybody is sent to the crank."""
    loop = asyncio.get_running_loop()
    slow_from = loop.time() + SLOW_S
    while run.view().link is LinkState.WAITING and not run.finished.is_set():
        with contextlib.suppress(TimeoutError):
            await asyncio.wait_for(run.finished.wait(), _OPENING_S)
        if loop.time() > slow_from:
            slow_from = math.inf
            output.message(OPENS_SLOWLY)


async def _operate(
    run: SweepRun, lines: "asyncio.Queue[str | None]", unit: str, typed: TypedLines | None
) -> None:
    if typed is None:
        await _connected(run)
    paper = typed is not None and typed.from_file
    if not paper:
        stepped = run.pipeline.setup.feature == "steps"
        by_hand = HELP if typed is None else HELP_TYPED.format(like=typed_like(typed.taken_in))
        output.message(HELP_STEPS if stepped else by_hand)
    while not run.finished.is_set():
        if not paper:
            output.message(prompt(run.view().task, unit))
        line = await lines.get()
        if line is None and typed is not None:
            typed.ended()
        if line is None or line.strip().lower() == "done":
            break
        if typed is not None:
            typed.take(line.strip())
        else:
            await obey(run, line.strip())
        if not paper and not run.finished.is_set():
            view = run.view()
            for words in filter(None, (so_far_line(view, unit), sure_line(view, unit))):
                output.message(words)
    run.finish()


async def obey(run: SweepRun, line: str) -> None:
    """One operator line. Returns once it is done, and a station taken or given up."""
    word, _, rest = line.partition(" ")
    word = word.lower()
    if line == "":
        run.confirm()
    elif word == "station":
        try:
            run.confirm(float(rest))
        except ValueError:
            output.message(f"{rest[:40]!r} is no angle: write it like 'station 45'")
            return
    elif word == "undo":
        run.undo()
    elif word == "note":
        run.note(rest)
    else:
        output.message(f"not understood: {line[:40]!r}. {HELP}")
        return
    await run.captured()


def standard_input() -> "asyncio.Queue[str | None]":
    """Lines of standard input, then None. A thread reads, since a file cannot be watched."""
    queue: asyncio.Queue[str | None] = asyncio.Queue()
    loop = asyncio.get_running_loop()

    def put(line: str | None) -> None:
        try:
            loop.call_soon_threadsafe(queue.put_nowait, line)
        except RuntimeError:
            return  # the sweep is over

    def read() -> None:
        # Bytes that are no text, or an input that cannot be read, are no reason to lose a sweep.
        with contextlib.suppress(OSError, ValueError):
            if isinstance(sys.stdin, io.TextIOWrapper):
                sys.stdin.reconfigure(errors="replace")
            for line in sys.stdin or ():  # None: it is closed
                put(line.rstrip("\n"))
        put(None)

    # A daemon, because a read that waits for the operator cannot be cancelled at exit.
    threading.Thread(target=read, daemon=True).start()
    return queue
