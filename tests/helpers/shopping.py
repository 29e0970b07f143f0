"""Commands on a shop of jobs: in this process, or in one that can be killed."""

import asyncio
import io
import math
import os
import shutil
import signal
import sys
import tempfile
from collections.abc import Callable
from contextlib import redirect_stderr, redirect_stdout
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import clockwork
import pytest
from shopmaking import WOBBLE

from coaxly.job.folder.index import need_job
from coaxly.job.folder.snapshot import look
from coaxly.job.steps.noting import take_in
from coaxly.main import main

SWEEP = ("sweep", "--job", "van", "--profile", "typed", "--unit", "in", "--no-closing", "--headless")
"""Of a job that is called so; the readings are typed."""

_LONGEST_S = 60


@dataclass
class Done:
    """What came of a command. code: minus the signal, where it was killed by one."""

    code: int
    out: str = ""
    err: str = ""


class Shop:
    """A shop's folder and commands on its jobs, each in simulated time."""

    def __init__(self, folder: Path):
        self.folder = folder

    def job(self, words: str):
        return need_job(self.folder, words)

    def __call__(self, *words, typed: str = "") -> Done:
        """In this process; typed: by a person."""
        return self.fed(io.StringIO(typed), *words)

    def fed(self, source, *words) -> Done:
        """In this process, its standard input a file or a pipe."""
        out, err = io.StringIO(), io.StringIO()
        with pytest.MonkeyPatch.context() as here, redirect_stdout(out), redirect_stderr(err):
            here.setattr(asyncio, "run", clockwork.run)
            here.setattr(sys, "stdin", source)
            try:
                code = main([*map(str, words), "--shop", str(self.folder)])
            except SystemExit as stop:
                code = stop.code
        return Done(code, out.getvalue(), err.getvalue())

    def killed(self, prepare: Callable[[], None], *words, typed: str = "") -> Done:
        """In a process of its own, begun as a copy of this one; prepare is called in it and may see to it
        that it is killed."""
        child = os.fork()
        if child == 0:
            code = 70
            try:
                signal.alarm(_LONGEST_S)
                prepare()
                code = self(*words, typed=typed).code
            finally:
                os._exit(code)
        _, status = os.waitpid(child, 0)
        return Done(os.waitstatus_to_exitcode(status))


def lay_in(job, sample: Path, name: str) -> None:
    """A recording made elsewhere, put into a job's folder and taken in."""
    shutil.copy(sample, job.path / name)
    take_in(look(job), name, anyway=True)


def readings(x: float, y: float) -> str:
    """What the dial says, in inches, at eight stations of a bore off by (x, y) thou and out of round as usual."""
    angles = [math.radians(45 * k) for k in range(8)]
    return "".join(
        f"{(-x * math.sin(th) - y * math.cos(th) + w) / 1000:.5f}\n"
        for th, w in zip(angles, WOBBLE, strict=True)
    )


def finished(shop: Shop) -> Shop:
    """The job "van" of a shop worked from the sweep as found to the proof."""
    assert shop(*SWEEP, typed=readings(-5, 5)).code == 1
    assert shop("plan", "van", "--take", "1").code == 0
    assert shop("job", "fitted", "van").code == 0
    assert shop(*SWEEP, "--stage", "left", typed=readings(-0.1, 0.1)).code == 0
    assert shop("verify", "van").code == 0
    return shop


VAN = ("job", "open", "blue van", "--limit", "5thou", "--kit", "5thou,7thou")
"""The command that opens the job which `finished_in` copies."""


def finished_in(folder: Path, *opening: str, config: Path | None = None) -> Shop:
    """A shop with the finished job "blue van" in a folder that is not there yet: worked once, and copied for
    each. opening: options more of the command that opened it; config: where the key of a workshop that signs
    is to lie, which is not there yet either."""
    home = _worked(config is not None, *opening)
    shutil.copytree(home / "shop", folder)
    if config is not None:
        shutil.copytree(home / "config", config)
    return Shop(folder)


@cache
def _worked(signed: bool, *opening: str) -> Path:
    """A folder with such a shop, and what its workshop has set."""
    home = Path(tempfile.mkdtemp())
    with pytest.MonkeyPatch.context() as here:
        here.setenv("XDG_CONFIG_HOME", str(home / "config"))
        if signed:
            with redirect_stdout(io.StringIO()):
                assert main(["key", "--make"]) == 0
        shop = Shop(home / "shop")
        assert shop(*VAN, *opening).code == 0
        finished(shop)
    return home
