"""What is set, and where that can be changed."""

from pathlib import Path

from ..entry.preferences import Preferences, preferences_path


def settings_lines(set_: Preferences, shop: Path) -> list[str]:
    """Every setting with its value, as it would be written."""
    keys = ", ".join(f'"{key}"' for key in set_.take_keys)
    lines = [
        f'  shop = "{shop}"   the folder of all jobs',
        f'  unit = "{set_.unit}"   of lengths shown: thou, in, mm, um (M changes it for now)',
        f'  kit = "{set_.kit}"   dowels at hand where a job names none',
        f"  take_keys = [{keys}]   a pedal's keys",
        f'  theme = "{set_.theme}"   dark or light',
        f'  glyphs = "{set_.glyphs or "blocks"}"   what pictures are made of: blocks, braille, ascii',
    ]
    there = (
        "It is read there, and never written." if set_.source else "Not there yet: write such lines into it."
    )
    return [*lines, "", f"  {set_.source or preferences_path()}", f"  {there}"]
