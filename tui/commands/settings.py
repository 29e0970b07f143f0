"""`coaxly settings`: each setting, its value and whence; and what a study kept for the shop."""

import argparse

import msgspec

from .. import output
from ..entry.preferences import load_preferences, preferences_path
from ..errors import FINE
from ..job.folder.repeatability import NAME, forget, kept_in
from ..plain.whichshop import shop_of
from ..say.settingwords import kept_lines, settings_lines, settings_object


def run(arguments: argparse.Namespace) -> int:
    """Show them; they are changed in their file. What a study kept can be dropped."""
    known, shop = load_preferences(), shop_of(arguments)
    if arguments.forget_study:
        output.message(f"{'Dropped' if forget(shop) else 'There is no'} {shop / NAME}")
    kept = kept_in(shop)
    content = {
        "settings": settings_object(known, shop),
        "file": str(preferences_path()),
        "study": None if kept is None else msgspec.to_builtins(kept),
    }
    lines = [*settings_lines(known, shop), *kept_lines(kept, str(shop / NAME))]
    output.answer(content, lines, as_json=arguments.json)
    return FINE
