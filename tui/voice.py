"""The system's own voice: instructions and verdicts for somebody at the crank bar, the screen out of sight.

A program of the system speaks (espeak-ng, or `say` of macOS), one process an utterance, its words on standard
input: nothing of it can block a reading, write into the screen or take the program down with it, and what is
out of date is cut off by what is new. A Python library for speech was tried; it writes to standard output,
which is the screen's, and needs a player besides.
"""

import contextlib
import os
import shlex
import shutil
import subprocess
from collections.abc import Sequence
from typing import TYPE_CHECKING, Final

from .errors import UsageError

if TYPE_CHECKING:
    from coaxly.fitter import Result

    from .job.sweep.news import News, Task
    from .job.sweep.view import View

_PROGRAMS: Final = (("espeak-ng", "--stdin"), ("espeak", "--stdin"), ("say", "-f", "-"))
_PATIENCE_S: Final = 20.0
VARIABLE: Final = "COAXLY_VOICE"


def find_voice() -> "Voice":
    """The program that is named in COAXLY_VOICE (a command that speaks its standard input), else one that is
    known. Raises UsageError where there is none."""
    try:
        wanted = shlex.split(os.environ.get(VARIABLE, ""))
    except ValueError as error:
        raise UsageError(f"{VARIABLE} is no command ({error}): write it as on the command line") from error
    for command in [wanted] if wanted else _PROGRAMS:
        if shutil.which(command[0]):
            return Voice(command)
    missing = wanted[0] if wanted else "espeak-ng"
    raise UsageError(f"no voice here: install {missing} (or name a program that speaks in {VARIABLE})")


class Voice:
    """Speaks one thing at a time. What is new cuts off what is old: an instruction that is late is wrong."""

    def __init__(self, command: Sequence[str]) -> None:
        """command: a program that speaks its standard input."""
        self.command = list(command)
        self._speaking: subprocess.Popen[bytes] | None = None

    def say(self, words: str) -> None:
        """Begin to speak, and return at once. A program that fails says nothing, and stops nothing."""
        self.hush()
        with contextlib.suppress(OSError):
            speaking = subprocess.Popen(
                self.command, stdin=subprocess.PIPE, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
            )
            self._speaking = speaking
            assert speaking.stdin is not None
            speaking.stdin.write(words.encode() + b"\n")
            speaking.stdin.close()

    def hush(self) -> None:
        """Cut off what is being said."""
        if self._speaking is not None and self._speaking.poll() is None:
            self._speaking.kill()  # one that would not end by itself must not hold up what is new
            self._speaking.wait()
        self._speaking = None

    def close(self) -> None:
        """Let it finish its last words, if they are not too many."""
        if self._speaking is not None:
            with contextlib.suppress(subprocess.TimeoutExpired):
                self._speaking.wait(_PATIENCE_S)
        self.hush()


class Speaker:
    """Looks at a sweep as a screen does, and says what is new in it: what happened, then what to do."""

    def __init__(self, voice: Voice) -> None:
        self._voice = voice
        self._news: News | None = None
        self._task: Task | None = None
        self._judged = False

    def look(self, view: "View", unit: str, result: "Result | None" = None) -> None:
        """Say what changed since the last look. result: once there is one; its verdict is said once."""
        from .say.sweep.aloud import finding_aloud, news_aloud, task_aloud

        if result is not None:
            if not self._judged:
                self._judged = True
                self._voice.say(finding_aloud(result, unit))
            return
        said = news_aloud(view.news, unit) if view.news is not self._news else ""
        self._news = view.news
        if view.task != self._task and (due := task_aloud(view.task, unit)):
            self._task = view.task
            said = f"{said}. {due}" if said else due
        if said:
            self._voice.say(said)
