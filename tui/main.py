"""The `coaxly` command: find the command's module, run it, turn errors into one clear sentence."""

import importlib
import os
import sys
from collections.abc import Sequence

from . import output
from .errors import FAILURE, MISUSE, OURS
from .parser import build, straightened


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command; returns its exit code (`tui.errors`)."""
    arguments = build().parse_args(straightened(sys.argv[1:] if argv is None else argv))
    if arguments.command and arguments.bench_shop and getattr(arguments, "shop", "") is None:
        arguments.shop = arguments.bench_shop
    try:
        return _run(arguments) if arguments.command else _bench(arguments.bench_shop)
    except KeyboardInterrupt:
        output.error("stopped")
        return 130
    except BrokenPipeError:
        # The reader of our output has gone (a closed pager): nobody is left to tell.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0


def _bench(shop: str | None) -> int:
    """Without a command: the jobs on the screen, where there is one."""
    from .terminal import has_screen

    if not has_screen():
        build().print_help()
        return MISUSE
    from .screens.app import show_bench

    try:
        return show_bench(shop)
    except OURS as error:
        output.error(error)
        return error.exit_code


def _run(arguments: object) -> int:
    if getattr(arguments, "shop", "") is None:  # named before the command, it counts as well
        arguments.shop = arguments.bench_shop  # type: ignore[attr-defined]
    command = importlib.import_module(f".commands.{arguments.command}", __package__)  # type: ignore[attr-defined]
    try:
        return int(command.run(arguments))
    except OURS as error:
        output.error(error)
        return error.exit_code
    except MemoryError:
        output.error("this needs more memory than there is; nothing was changed")
        return FAILURE


if __name__ == "__main__":
    sys.exit(main())
