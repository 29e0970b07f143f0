"""Opening a file beside the screen: only where there is a desktop, for a browser in the terminal would write
over the page.
"""

import os
import sys
import webbrowser
from pathlib import Path


def has_browser() -> bool:
    """Whether there is a desktop to open it on."""
    if sys.platform in ("darwin", "win32"):
        return True
    return bool(os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY"))


def open_file(path: Path) -> bool:
    """In the browser that the user has chosen; whether one took it."""
    try:
        return webbrowser.open(path.as_uri())
    except (OSError, ValueError, webbrowser.Error):
        return False
