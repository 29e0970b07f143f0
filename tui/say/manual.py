"""The manual: pages that are shipped with the program, and those that are made of the table of keys."""

from collections.abc import Iterable, Sequence
from functools import cache
from importlib.resources import files
from typing import Any, Final

from coaxly.fitter import Setup
from coaxly.fitter.keys import Key

from ..entry.keys import named, usual_words, wanted
from ..entry.preferences import Preferences, preferences_path
from ..entry.rigging import Rigging
from ..errors import UsageError
from ..job.folder.details import Details
from .settingwords import ENVIRONMENT

_ORDER: Final = (
    "first-sweep", "two-numbers", "instruments", "profiles", "encoder", "jobs", "face", "pilot", "dowels",
    "tapping", "numbers", "shop", "seals", "screen", "settings", "keys", "files", "python", "trouble",
    "glossary", "changes",
)  # fmt: skip
"""As it is read; a page that is not named here comes last."""

_MADE: Final = {
    "settings": "Settings and the environment",
    "keys": "All that can be said of a sweep or a job",
}


@cache
def topics() -> dict[str, str]:
    """The pages with their titles, in the order in which they are read."""
    found = dict(_MADE)
    for one in files(__package__.partition(".")[0]).joinpath("manual").iterdir():
        if one.name.endswith(".md"):
            found[one.name.removesuffix(".md")] = _text(one).partition("\n")[0].removeprefix("# ")
    place = {name: k for k, name in enumerate(_ORDER)}
    return {name: found[name] for name in sorted(found, key=lambda each: (place.get(each, 99), each))}


def page(topic: str) -> str:
    """One of them, as Markdown. Raises UsageError."""
    if topic not in topics():
        raise UsageError(f"no page of the manual is called {topic[:40]!r}; pages: {', '.join(topics())}")
    if topic == "settings":
        return _settings()
    if topic == "keys":
        return _keys()
    return _text(files(__package__.partition(".")[0]).joinpath("manual", f"{topic}.md"))


def contents() -> str:
    """The list of all pages, as Markdown."""
    rows = [(f"[{name}]({name}.md)", title) for name, title in topics().items()]
    return "\n".join(["# The manual", "", *_table("page | what is in it", rows), ""])


def _table(head: str, rows: Iterable[Sequence[str]]) -> list[str]:
    return [f"| {head} |", "|---" * (head.count("|") + 1) + "|", *(f"| {' | '.join(row)} |" for row in rows)]


def _text(place: Any) -> str:
    return str(place.read_text(encoding="utf-8"))


def _settings() -> str:
    return "\n".join(
        [
            f"# {_MADE['settings']}",
            "",
            "Settings are asked for on the screen (`E` at the jobs), or written as lines such as "
            f'`unit = "mm"` into `{preferences_path()}`. `coaxly settings` shows what holds, and whence.',
            "",
            *_table("setting | what | takes | usual", (_row(name, one) for name, one in named(Preferences))),
            "",
            "## The environment",
            "",
            *_table("variable | what", ((f"`{name}`", what) for name, what in _VARIABLES.items())),
            "",
        ]
    )


_VARIABLES: Final = {
    **{variable: f"the setting `{name}`, for this terminal" for name, variable in ENVIRONMENT.items()},
    "COAXLY_VOICE": "the program that speaks its standard input, in place of espeak-ng or say",
    "COAXLY_IMAGES": "off: pictures are made of characters, whatever the terminal can show",
    "NO_COLOR": "no colours",
}


def _keys() -> str:
    lines = [
        f"# {_MADE['keys']}",
        "",
        "Of a sweep they are options of the command (`--tip-angle 30`), keys of a rig, "
        "or of `rig` in a job.toml (`tip_angle = 30`). Of a job they are options of `coaxly job open`.",
    ]
    for kind in (Rigging, Setup, Details):
        groups: dict[str, list[Sequence[str]]] = {}
        for _, one in named(kind):
            if one.group is not None:
                groups.setdefault(one.group.title, []).append(_row(one.name, one))
        for title, rows in groups.items():
            head = f"## {'Of a job' if kind is Details else 'Of a sweep'}: {title}"
            lines += ["", head, "", *_table("key | what | takes | usual", rows)]
    return "\n".join([*lines, ""])


def _row(name: str, one: Key) -> Sequence[str]:
    cells = (one.says, wanted(one.kind), usual_words(one))
    return (f"`{name}`", *(cell.replace("|", "\\|") for cell in cells))
