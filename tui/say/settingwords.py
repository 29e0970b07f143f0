"""What is set, where that comes from, and where it can be changed."""

import os
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from coaxly.fitter.keys import Choice, YesNo, keys_of

from ..entry.keys import usual_words
from ..entry.lengths import number, parse_length
from ..entry.preferences import Preferences, preferences_path
from ..job.folder.shop import asked_for
from .smallwords import counted

if TYPE_CHECKING:
    from ..job.folder.repeatability import Kept, Share

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
    there = "" if known.source else "Not there yet. "
    how = f"{there}Change them on the screen (E at the jobs), or write such lines into it."
    return [*lines, "", f"  {known.source or preferences_path()}", f"  {how}"]


def kept_lines(kept: "Kept | None", file: Path, unit: str) -> list[str]:
    """What a study kept in a shop's file, lengths in `unit`, and how to drop it."""
    if kept is None:
        return []
    found = [f"it repeats to {_fine(kept.sd, unit)} ({kept.freedom:g} degrees of freedom)"]
    if kept.noise:
        found.append(f"readings scatter by {_usually(kept.noise, unit)}")
    found += [
        f"housings of {family} are oval by {_usually(form.oval, unit)} ({counted(form.pieces, 'piece')})"
        for family, form in sorted(kept.form.items())
    ]
    there = asked_for(file.parent)
    whose = f"{counted(kept.sweeps, 'sweep')}, {kept.date}"
    return [
        "",
        f"  Kept by a study ({whose}), and counted on by sweeps of jobs:",
        *(f"    {line}" for line in found),
        f"  {file}",
        f"  To drop it: coaxly settings --forget-study{there}; to leave it out once: --no-study",
    ]


def _fine(length: str, unit: str) -> str:
    """A length of the file to a hundredth of a thou."""
    return f"{number(parse_length(length), unit, finer=1)} {unit}"


def _usually(shares: "Sequence[Share]", unit: str) -> str:
    """The size that half of all are below."""
    whole, below = sum(share for _, share in shares), 0.0
    for size, share in shares:
        below += share
        if below >= whole / 2.0:
            return f"{_fine(size, unit)} mostly"
    return ""


@dataclass(frozen=True, slots=True)
class Setting:
    """One of them for a list. line: with its value; about: what it is, and whence the value is."""

    name: str
    line: str
    about: str


def settings_of(known: Preferences, shop: Path) -> list[Setting]:
    """All of them, in their order."""
    found = []
    for name, each in settings_object(known, shop).items():
        whence = _WHENCE.get(each["from"], f"by {each['from']}, which counts before it")
        about = f"{name}: {keys_of(Preferences)[name].says} ({whence})"
        found.append(Setting(name, f"{name:<10} {_plainly(each['value'])}", about))
    return found


def question(name: str) -> str:
    """What is asked of one."""
    one = keys_of(Preferences)[name]
    such = (
        "" if isinstance(one.kind, Choice | YesNo) else f" Now as usual: {usual_words(one)}" * bool(one.usual)
    )
    return f"{name}: {one.says}.{such}"


def kept_words(name: str) -> str:
    """That it was written, and from when on it holds."""
    when = "It holds from the next start on." if name == "shop" else "It holds from now on, for all commands."
    return f"{name} is set. {when}"


def _plainly(value: Any) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    return ", ".join(map(str, value)) if isinstance(value, tuple) else str(value or "as the terminal can")


_WHENCE: Final = {"usual": "as usual", "settings": "set there"}


def _as_toml(value: Any) -> str:
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, tuple):
        return f"[{', '.join(map(_as_toml, value))}]"
    return f'"{value or "blocks"}"'
