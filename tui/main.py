"""The `coaxly` command: find the command's module, run it, turn errors into one clear sentence."""

import importlib
import os
import sys
from collections.abc import Sequence
from typing import Final

from . import output
from .errors import FAILURE, MISUSE, OURS
from .parser import build, straightened

_ONE_THREAD: Final = ("OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS", "VECLIB_MAXIMUM_THREADS")
"""What tells the libraries below numpy to use one thread. Matrices here are of a few columns: more threads
only wait for each other, a third of the time that numpy takes to load and half a core beside a live sweep."""


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command; returns its exit code (`coaxly.errors`)."""
    for name in _ONE_THREAD:
        os.environ.setdefault(name, "1")
    output.hold_closed_places()
    try:
        return _answered(argv)
    except KeyboardInterrupt:
        output.error("stopped")
        return 130
    except BrokenPipeError:
        # The reader of our output has gone (a closed pager): nobody is left to tell.
        output.forget(sys.stdout)
        return 0
    except OURS as error:
        output.error(error)
        return error.exit_code
    except MemoryError:
        output.error("this needs more memory than there is; nothing was changed")
        return FAILURE


def _answered(argv: Sequence[str] | None) -> int:
    arguments = build().parse_args(straightened(sys.argv[1:] if argv is None else argv))
    if not arguments.command:
        return _bench(arguments.bench_shop)
    from .spool import standard_input

    command = importlib.import_module(f".commands.{arguments.command}", __package__)
    with standard_input(arguments) as asked:
        return int(command.run(asked))


def _bench(shop: str | None) -> int:
    """Without a command: the jobs on the screen, where there is one."""
    from .terminal import has_screen, hushed

    if not has_screen():
        build().print_help()
        return MISUSE
    with hushed():
        from .screens.app import show_bench

    return show_bench(shop)


if __name__ == "__main__":
    sys.exit(main())
