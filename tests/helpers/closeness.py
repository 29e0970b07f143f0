"""What was stored and what is made now are the same to 1e-9 of each number, never byte for byte.

Other processors and other libraries for linear algebra round the last bits otherwise.
"""

import json
from pathlib import Path
from typing import Any

RELATIVE = 1e-9
NOTHING = 1e-12
"""Numbers (mm, degrees, shares) below this are zeros that rounding has touched."""


def differences(kept: Any, made: Any, key: str = "") -> list[str]:
    """Where two JSON values differ by more than rounding, in words; empty if they are the same."""
    if isinstance(kept, dict) and isinstance(made, dict):
        missing = [f"{key}.{name}: only in one" for name in kept.keys() ^ made.keys()]
        both = kept.keys() & made.keys()
        return missing + [
            line for name in both for line in differences(kept[name], made[name], f"{key}.{name}")
        ]
    if isinstance(kept, list | tuple) and isinstance(made, list | tuple) and len(kept) == len(made):
        return [
            line
            for k, (a, b) in enumerate(zip(kept, made, strict=True))
            for line in differences(a, b, f"{key}[{k}]")
        ]
    if isinstance(kept, float) and isinstance(made, int | float) and not isinstance(made, bool):
        same = abs(kept - made) <= max(RELATIVE * max(abs(kept), abs(made)), NOTHING)
    else:
        same = kept == made
    return [] if same else [f"{key}: {kept!r} and {made!r}"]


def lines_that_differ(kept: Path, made: Path) -> list[str]:
    """The same of two recordings, but for the checksums in their seals and at their end."""
    ours, theirs = ([json.loads(line) for line in path.read_bytes().splitlines()] for path in (kept, made))
    for record in ours + theirs:
        if record["kind"] in ("seal", "end"):
            record["sha256"] = len(record["sha256"])
    return differences(ours, theirs)
