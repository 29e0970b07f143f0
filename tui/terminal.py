"""Is there a terminal that can show a screen?"""

import os
import sys


def has_screen() -> bool:
    """Whether input and output are a terminal that understands more than plain lines."""
    if os.environ.get("TERM", "") in ("", "dumb"):
        return False
    return sys.stdin.isatty() and sys.stdout.isatty() and sys.stderr.isatty()
