"""The `coaxly` command: find the command's module, run it, turn errors into one clear sentence."""

import os
import sys
from collections.abc import Sequence
from typing import Final

_ONE_THREAD: Final = ("OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS", "VECLIB_MAXIMUM_THREADS")
"""What tells the libraries below numpy to use one thread. Matrices here are of a few columns: more threads
only wait for each other, a third of the time that numpy takes to load and half a core beside a live sweep."""


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command; returns its exit code (`coaxly.errors`)."""
    for name in _ONE_THREAD:
        os.environ.setdefault(name, "1")
    try:
        # All else is loaded in here: whoever is impatient sees no traceback.
        from .endings import like_ctrl_c

        with like_ctrl_c() as told_to_end:
            code = _answered(argv)
            if not told_to_end():
                return code
    except KeyboardInterrupt:
        from . import output

        output.error("stopped")
    from .errors import STOPPED

    return STOPPED


def _answered(argv: Sequence[str] | None) -> int:
    from . import output
    from .errors import FAILURE, OURS

    output.hold_closed_places()
    try:
        return _run(argv)
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


def _run(argv: Sequence[str] | None) -> int:
    import importlib

    from .parser import build, straightened

    arguments = build().parse_args(straightened(sys.argv[1:] if argv is None else argv))
    if not arguments.command:
        return _bench(arguments.bench_shop)
    from .spool import standard_input

    command = importlib.import_module(f".commands.{arguments.command}", __package__)
    with standard_input(arguments) as asked:
        return int(command.run(asked))


def _bench(shop: str | None) -> int:
    """Without a command: the jobs on the screen, where there is one."""
    from .errors import MISUSE
    from .parser import build
    from .terminal import has_screen, hushed

    if not has_screen():
        build().print_help()
        return MISUSE
    with hushed():
        from .screens.app import show_bench

    return show_bench(shop)


if __name__ == "__main__":
    sys.exit(main())
