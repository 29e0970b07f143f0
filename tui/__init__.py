"""How far a clutch housing is off the crank: `coaxly.read(path)` reads a recording and fits it.

The names below are loaded at their first use (PEP 562): `import coaxly` alone costs nothing. The rest of the
package is everything a person meets: command line, screens, plain text.
"""

from importlib import import_module
from typing import TYPE_CHECKING

from .version import __version__

if TYPE_CHECKING:
    from .errors import OURS as ERRORS
    from .recording import Plot, Recording, read

__all__ = ["ERRORS", "Plot", "Recording", "__version__", "read"]

_HOMES = {
    "ERRORS": (".errors", "OURS"),
    "Plot": (".recording", "Plot"),
    "Recording": (".recording", "Recording"),
    "read": (".recording", "read"),
}


def __dir__() -> list[str]:
    """The names for whoever imports it."""
    return __all__


def __getattr__(name: str) -> object:
    """Load one of the names above from its home. Raises AttributeError for any other."""
    if name not in _HOMES:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    module, inside = _HOMES[name]
    return getattr(import_module(module, __name__), inside)
