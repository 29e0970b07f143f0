"""`coaxly settings`: each setting, its value and whence; and what a study kept for the shop."""

import argparse
from pathlib import Path

import msgspec

from .. import output
from ..entry.preferences import load_preferences, preferences_path
from ..errors import FINE
from ..job.folder.repeatability import NAME, forget, kept_in
from ..plain.whichshop import shop_of
from ..say.settingwords import kept_lines, settings_lines, settings_object


def run(arguments: argparse.Namespace) -> int:
    """Show them; they are changed in their file. What a study kept can be dropped."""
    shop = shop_of(arguments)
    if arguments.forget_study:
        return _forgotten(shop, as_json=arguments.json)
    known, kept = load_preferences(), kept_in(shop)
    content = {
        "settings": settings_object(known, shop),
        "file": str(preferences_path()),
        "study": None if kept is None else msgspec.to_builtins(kept),
    }
    lines = [*settings_lines(known, shop), *kept_lines(kept, shop / NAME, known.unit)]
    output.answer(content, lines, as_json=arguments.json)
    return FINE


def _forgotten(shop: Path, *, as_json: bool) -> int:
    """Drop what a study kept, and say so."""
    dropped, file = forget(shop), str(shop / NAME)
    said = f"Dropped {file}: sweeps of jobs count on usual values again" if dropped else f"There is no {file}"
    output.answer({"dropped": file if dropped else None}, [said], as_json=as_json)
    return FINE
