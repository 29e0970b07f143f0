"""What dowels are at hand, in words: sizes with their counts, pins, marks, and which kits are left aside."""

from typing import Any

from coaxly.fitter.dowels.kit import Kit

from ...entry.lengths import number, parse_length, show_length, written
from ...errors import UsageError


def kit_lines(kit: Kit, unit: str) -> list[str]:
    """What there is to say of a kit beyond its plain sizes; nothing where that is all there is."""
    told = []
    if kit.body is not None:
        told.append(f"pins {written(kit.body, '.4g')} mm")
    if kit.way is not None:
        told.append(f"set {kit.way}")
    counted = [size for size in kit.sizes if size.count is not None]
    if counted:
        there = ", ".join(f"{size.count} x {number(size.offset, unit)}" for size in counted)
        told.append(f"{there} {unit} there")
    lines = [f"Kit {kit.name}: {'; '.join(told)}"] if told else []
    singles = sorted(set(kit.singles()) - set(kit.pairs()))
    if singles:
        sizes = ", ".join(number(offset, unit) for offset in singles)
        lines.append(f"Only one of {sizes} {unit} is there: no parallel pair of it")
    lines += [
        f"Left aside: {name}, its pins of {written(body, '.4g')} mm do not fit the hole"
        for name, body in kit.aside
    ]
    return lines


def kit_object(kit: Kit) -> dict[str, Any]:
    """For `--json`: lengths in mm, angles in degrees."""
    return {
        "name": kit.name,
        "pin_mm": kit.body,
        "setting": kit.way,
        "sizes": [
            {"offset_mm": size.offset, "count": size.count, "kit": size.kit or kit.name,
             "mark_deg": kit.mark_of(size.offset)}
            for size in kit.sizes
        ],
        "left_aside": [{"kit": name, "pin_mm": body} for name, body in kit.aside],
    }  # fmt: skip


def kit_words(text: str, unit: str) -> str:
    """A kit as it stands in job.toml, its plain sizes in `unit`; what is no length stays as it is."""
    return ", ".join(_size(part.strip(), unit) for part in text.split(",") if part.strip())


def _size(part: str, unit: str) -> str:
    try:
        return show_length(parse_length(part), unit)
    except UsageError:
        return part
