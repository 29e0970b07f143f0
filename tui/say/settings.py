"""What is set, where that comes from, and where it can be changed."""

import os
from pathlib import Path
from typing import Any, Final

from coaxly.fitter.keys import keys_of

from ..entry.preferences import Preferences, preferences_path

ENVIRONMENT: Final = {"theme": "COAXLY_THEME", "glyphs": "COAXLY_GLYPHS", "shop": "COAXLY_SHOP"}


def settings_object(known: Preferences, shop: Path) -> dict[str, Any]:
    """Each setting with its value and whence it is: "usual", "settings" or the name of a variable."""
    found = {}
    for name in keys_of(Preferences):
        variable = ENVIRONMENT.get(name, "")
        value = str(shop) if name == "shop" else getattr(known, name)
        by_variable = variable and os.environ.get(variable, "")
        if by_variable and name != "shop":
            value = by_variable
        whence = variable if by_variable else "settings" if name in known.said else "usual"
        found[name] = {"value": value, "from": whence}
    return found


def settings_lines(known: Preferences, shop: Path) -> list[str]:
    """Every setting with its value, as it would be written."""
    keys, lines = keys_of(Preferences), []
    for name, each in settings_object(known, shop).items():
        line, whence = f"{name} = {_as_toml(each['value'])}", each["from"]
        lines.append(f"  {line:<44} {keys[name].says}; {_WHENCE.get(whence, whence)}")
    read = "It is read there, and never written."
    there = read if known.source else "Not there yet: write such lines into it."
    return [*lines, "", f"  {known.source or preferences_path()}", f"  {there}"]


_WHENCE: Final = {"usual": "as usual", "settings": "set there"}


def _as_toml(value: Any) -> str:
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, tuple):
        return f"[{', '.join(map(_as_toml, value))}]"
    return f'"{value or "blocks"}"'
