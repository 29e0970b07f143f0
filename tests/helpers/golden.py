"""What somebody once looked at and found right: kept as text in tests/golden, to be held against what is made now.

COAXLY_REDRAW=1 writes it anew, to be looked at again.
"""

import os
import re
from pathlib import Path

GOLDEN = Path(__file__).parents[1] / "golden"
_NUMBER = re.compile(r"-?\d+(?:\.\d+)?")


def kept(name, text):
    """The text that is there by that name; `text`, where it is to be written anew."""
    path = GOLDEN / f"{name}.txt"
    if os.environ.get("COAXLY_REDRAW"):
        path.parent.mkdir(exist_ok=True)
        path.write_text(text, encoding="utf-8")
    return path.read_text(encoding="utf-8")


def apart(text):
    """A text with a mark for each of its numbers, and the numbers."""
    return _NUMBER.sub("#", text), [float(each) for each in _NUMBER.findall(text)]
