"""One setting changed in the user's own file: whatever else stands there, comments too, stays."""

from typing import Any

from coaxly.fitter.keys import Kind, YesNo, keys_of

from ...entry.keys import yes_or_no
from ...entry.preferences import Pedals, Preferences, checked, load_preferences, preferences_path
from ...errors import UsageError, doing
from . import details


def set_setting(name: str, text: str) -> Preferences:
    """Write it as somebody said it. Returns what is set then. Raises UsageError, in words, or Failure; then
    nothing was written."""
    try:
        value = checked(name, _value(keys_of(Preferences)[name].kind, text.strip()))
    except UsageError:
        raise
    except ValueError as error:
        raise UsageError(str(error)) from error
    path = preferences_path()
    with doing(f"write {path}"):
        path.parent.mkdir(parents=True, exist_ok=True)
    details.edit(path, {name: list(value) if isinstance(value, tuple) else value})
    return load_preferences()


def _value(kind: Kind, text: str) -> Any:
    if isinstance(kind, YesNo):
        said = yes_or_no(text)
        return text if said is None else said
    if isinstance(kind, Pedals):
        return [key.strip() for key in text.replace(" ", ",").split(",") if key.strip()]
    return text
