"""Worlds that differ from the model: what a real dial, rig and crank do to a sweep.

Every one is simulated along the way of the crank in steps of a degree, so that a plunger that lags or
sticks comes to a station with its past. Lengths in mm, angles in degrees.
"""

import math
from collections.abc import Callable
from itertools import pairwise

import numpy as np
from scipy.signal import lfilter

STILL = {"zero_sd_deg": 0.0, "delay_sd_s": 0.0, "drift_mm": 0.0, "hysteresis_mm": 0.0, "hidden_form_mm": 0.0}
"""Setup of a world in which nothing happens that a sweep cannot see: no allowance for it."""

_STEP_DEG = 1.0
_RUN_UP_DEG = 60.0


def evenly(n, turns=1, start=0.0):
    """n places a turn, clockwise."""
    return lambda rng: start + np.arange(n * turns) * 360.0 / n


def there_and_back(n):
    """A turn clockwise through n places and a turn back, half a station on."""
    return lambda rng: np.concatenate([np.arange(n), np.arange(n)[::-1] + 0.5]) * 360.0 / n


def half_a_station_on(n):
    """Two turns of n places, the second half a station on."""
    return lambda rng: np.concatenate([np.arange(n), np.arange(n) + n + 0.5]) * 360.0 / n


def revisited(n):
    """n places, the first once more in the middle and at the end."""
    half = n // 2
    return lambda rng: np.concatenate([np.arange(half), [0], np.arange(half, n), [0]]) * 360.0 / n


def arc(n, width):
    """n places over part of a turn, beginning anywhere."""
    return lambda rng: rng.uniform(0, 360) + np.linspace(0.0, width, n)


def encoder(n, width=360.0):
    """n readings in passing, beginning anywhere."""
    return lambda rng: rng.uniform(0, 360) + np.linspace(0.0, width, n, endpoint=False)


def encoder_and_back(n):
    """n readings in passing, beginning anywhere, and as many on the way back."""
    return lambda rng: rng.uniform(0, 360) + 360.0 * np.concatenate([np.arange(n), np.arange(n)[::-1]]) / n


def coloured(rng, n, sd, length):
    """Noise whose neighbours are tied over about `length` samples; white for no length."""
    white = rng.normal(0.0, sd, n)
    if not length:
        return white
    phi = math.exp(-1.0 / length)
    root = math.sqrt(1.0 - phi * phi)
    white[1:] *= root
    return lfilter([1.0], [1.0, -phi], white)


def linear(s, rng):
    """Drift at a steady pace, over a sweep that lasts from 0 to 1."""
    return s


def out_and_back(s, rng):
    """Drift that is gone again at the end."""
    return np.sin(math.pi * s)


def settling(s, rng):
    """Drift that dies away, as a rig that warms up or a base that creeps."""
    return 1.0 - np.exp(-4.0 * s)


def walk(s, rng):
    """Drift that goes where it likes: a random walk with a standard deviation of one at the end."""
    return np.cumsum(rng.normal(0.0, 1.0, len(s))) / math.sqrt(len(s))


def along_the_way(surface: Callable[[np.ndarray], np.ndarray], deg: np.ndarray, follow) -> np.ndarray:
    """Readings at `deg`, in order, of a plunger that follows the surface by `follow(shown, true)`."""
    runs = np.concatenate([[deg[0] - math.copysign(_RUN_UP_DEG, deg[1] - deg[0])], deg])
    shown, seen = float(surface(runs[:1])[0]), []
    for start, end in pairwise(runs):
        steps = max(1, math.ceil(abs(end - start) / _STEP_DEG))
        for true in surface(start + (end - start) * np.arange(1, steps + 1) / steps).tolist():
            shown = follow(shown, true)
        seen.append(shown)
    return np.array(seen)


def play(width):
    """Lost motion of the dial: it shows the surface `width` apart, in and out."""
    return lambda shown, true: min(max(shown, true - width / 2.0), true + width / 2.0)


def stick(width):
    """A plunger that sticks until the surface is `width` away, then jumps to it."""
    return lambda shown, true: true if abs(true - shown) > width else shown
