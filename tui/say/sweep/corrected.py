"""What was taken out of the readings, with its size: nothing is corrected in silence."""

from collections.abc import Mapping
from typing import Final

from ...entry.lengths import show_length, written

_LABELS: Final = {
    "calibration_mm": "dial calibrated, up to",
    "tip_factor": "tip at an angle, factor",
    "sag_mm": "sag of the arm",
    "bearing_shift_mm": "crank resting in its bearings",
    "drift_mm": "drift by the closing reading",
    "delay_s": "delay of the dial",
    "engine_tilt_deg": "tilt of the engine",
}


def corrections(sizes: Mapping[str, float], unit: str) -> list[tuple[str, str]]:
    """Each one's name and size."""
    return [
        (_LABELS.get(key, key.replace("_", " ")), _size(key, value, unit)) for key, value in sizes.items()
    ]


def _size(key: str, value: float, unit: str) -> str:
    if key.endswith("_mm"):
        return show_length(value, unit)
    if key.endswith("_s"):
        return f"{written(value, '.2f')} s"
    return f"{written(value, '.4g')}{' deg' if key.endswith('_deg') else ''}"


def corrected_by(sizes: Mapping[str, float], unit: str) -> str:
    """In one line, but for drift, which every closing reading takes out; "" where nothing else was."""
    told = {key: value for key, value in sizes.items() if key != "drift_mm"}
    return ", ".join(f"{name} {size}" for name, size in corrections(told, unit))
