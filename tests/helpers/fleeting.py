"""What workers of a cluster in another process are given to do by tests."""

import os
import signal
import time
from pathlib import Path


def fatal_once(item: tuple[str, int]) -> int:
    """Twice the number; the worker that has number 20 first dies over it, whoever has it next does not."""
    folder, number = item
    try:
        if number == 20:
            (Path(folder) / "died").touch(exist_ok=False)
            os.kill(os.getpid(), signal.SIGKILL)
    except FileExistsError:
        pass
    time.sleep(0.001)
    return 2 * number
