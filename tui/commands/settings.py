"""`coaxly settings`: each setting, its value and whence."""

import argparse

from .. import output
from ..entry.preferences import load_preferences, preferences_path
from ..errors import FINE
from ..plain.whichshop import shop_of
from ..say.settingwords import settings_lines, settings_object


def run(arguments: argparse.Namespace) -> int:
    """Show them; they are changed in their file."""
    known, shop = load_preferences(), shop_of(arguments)
    content = {"settings": settings_object(known, shop), "file": str(preferences_path())}
    output.answer(content, settings_lines(known, shop), as_json=arguments.json)
    return FINE
