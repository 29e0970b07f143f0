"""A command of ours in this process, in simulated time: instruments and an operator live beside it."""

import asyncio
import io
import queue
import sys

import clockwork

from coaxly.main import main
from coaxly.parser import build


def commands() -> list[str]:
    """The names of all commands."""
    return list(next(action.choices for action in build()._actions if action.dest == "command"))


class Operator:
    """Standard input of the command, and what it says to whoever types there."""

    def __init__(self, capsys):
        self._lines, self._capsys, self._said = queue.SimpleQueue(), capsys, ""
        self.out = ""

    def __iter__(self):
        return iter(self._lines.get, None)

    def isatty(self):
        return False

    def types(self, line):
        self._lines.put(line + "\n")

    def hangs_up(self):
        self._lines.put(None)

    @property
    def said(self):
        """Everything on standard error so far."""
        out, err = self._capsys.readouterr()
        self.out += out
        self._said += err
        return self._said

    async def hears(self, words, times=1):
        """Wait for words on standard error."""
        await clockwork.until(lambda: self.said.count(words) >= times)


def in_shop(folder, monkeypatch, capsys):
    """Commands in a folder, on a shop in it: each gives (exit code, standard output, error); typed: what
    stands on its standard input."""
    monkeypatch.chdir(folder)
    monkeypatch.setenv("COAXLY_SHOP", str(folder / "shop"))

    def command(*words, typed=""):
        monkeypatch.setattr("sys.stdin", io.StringIO(typed))
        try:
            code = main(list(words))
        except SystemExit as stop:
            code = stop.code
        return code, *capsys.readouterr()

    return command


def command(monkeypatch, capsys, life, *arguments):
    """Run `coaxly arguments...` while `life(operator)` happens; (exit code, standard output, error)."""
    operator = Operator(capsys)

    async def beside(work):
        around = asyncio.create_task(life(operator))
        sweep = asyncio.create_task(work)
        try:
            await asyncio.wait({around, sweep}, return_when=asyncio.FIRST_COMPLETED)
            if around.done():
                around.result()
            return await sweep
        finally:
            around.cancel()

    with monkeypatch.context() as here:
        here.setattr(asyncio, "run", lambda work: clockwork.run(beside(work)))
        here.setattr(sys, "stdin", operator)
        try:
            code = main([str(argument) for argument in arguments])
        finally:
            operator.hangs_up()
    said = operator.said
    return code, operator.out, said
