"""Sweeps that do not measure what they seem to: the surface by an exact ray, a dial with a display, and what
goes wrong between the two. Lengths in thou until they go into a fitter."""

import math
from dataclasses import dataclass, replace

import numpy as np

from coaxly.fitter import Fitter, Setup
from coaxly.fitter.units import MM_PER_THOU as THOU

RADIUS = 5500.0


def bore(rng, off, scale=1.0):
    """Distance from the crank's axis to a bore `off` thou off-centre, out of round as usual times `scale`: a
    function of degrees, by Newton along the ray."""
    towards = rng.uniform(0.0, 2.0 * math.pi)
    x, y = off * math.sin(towards), off * math.cos(towards)
    sizes = {2: 0.5, 3: 0.25, 4: 0.15} | {k: 0.5 * (2.0 / k) ** 2 for k in range(5, 10)}
    form = [(k, *(scale * rng.normal(0.0, size, 2))) for k, size in sizes.items()]

    def distance(deg):
        rad = np.deg2rad(np.asarray(deg, float))
        ux, uy = np.sin(rad), np.cos(rad)
        out = np.full(rad.shape, RADIUS)
        for _ in range(4):
            px, py = out * ux - x, out * uy - y
            psi = np.arctan2(px, py)
            here = RADIUS + sum(a * np.cos(k * psi) + b * np.sin(k * psi) for k, a, b in form)
            out = out + here - np.hypot(px, py)
        return out

    return distance


@dataclass(frozen=True)
class World:
    """One sweep. off: of the bore, thou; form: times the usual; noise, display: thou; flicker: steps of the display;
    streamed: a dial that sends all the time, else one reading a station."""

    off: float = 2.0
    form: float = 1.0
    noise: float = 0.1
    display: float = 0.1
    flicker: int = 0
    stations: int = 8
    turns: int = 1
    closing: bool = True
    drift: float = 0.2
    streamed: bool = True

    @property
    def stops(self):
        """Degrees of all stops, turns counted."""
        deg = np.arange(self.stations * self.turns) * 360.0 / self.stations
        return np.append(deg, 360.0 * self.turns) if self.closing else deg


def shown(rng, world, value, at=None):
    """What a display makes of a value, flicker in: rounded to its step."""
    steps = np.round(np.asarray(value, float) / world.display)
    if world.flicker:
        steps = steps + rng.integers(0, world.flicker + 1, steps.shape)
    return steps * world.display


def healthy(rng, world, deg):
    """What the plunger reads at places in time, noise and drift in."""
    away = bore(rng, world.off, world.form)
    value = RADIUS + rng.uniform(5.0, 30.0) - away(deg)
    gone = np.linspace(0.0, 1.0, len(deg))
    return value + rng.normal(0.0, world.noise, len(deg)) + world.drift * rng.normal() * gone


def path(world):
    """Degrees of every reading of a sweep: five at each stop, twelve on the way to the next; and which stops."""
    deg, at = [], []
    stops = world.stops
    for k, stop in enumerate(stops):
        if k:
            deg += np.linspace(stops[k - 1], stop, 14)[1:-1].tolist()
            at += [-1] * 12
        deg += [stop] * 5
        at += [k] * 5
    return np.array(deg), np.array(at)


def clipped(share, low=True):
    """The tip is off for part of the turn: so much of the travel is lost, at its lowest or highest."""

    def fault(rng, world, value, at):
        lowest, highest = value.min(), value.max()
        stop = lowest + share * (highest - lowest) if low else highest - share * (highest - lowest)
        return np.maximum(value, stop) if low else np.minimum(value, stop)

    return fault


def held(station):
    """HOLD is pressed at a station: what comes after is what it read."""

    def fault(rng, world, value, at):
        first = int(np.flatnonzero(at == station)[-1])
        return np.concatenate([value[:first], np.full(len(value) - first, value[first])])

    return fault


def frozen(station, later=0.0):
    """The same as a display shows it: the digits stand too. later: how far on the way to the next station,
    0..1."""

    def shows(rng, world, value, at):
        digits = shown(rng, world, value)
        first = int(np.flatnonzero(at == station)[-1])
        first += int(later * (int(np.flatnonzero(at == station + 1)[0]) - first))
        return np.concatenate([digits[:first], np.full(len(digits) - first, digits[first])])

    return shows


def keeping(rng, world, value, at):
    """MAX: the dial shows the largest yet."""
    return np.maximum.accumulate(value)


def unturned(rng, world, value, at):
    """Nobody turned the crank."""
    return np.full(len(value), value[0])


def resting(steps):
    """The same of a dial whose readings scatter by so many steps of its display (standard deviation)."""

    def fault(rng, world, value, at):
        return value[0] + rng.normal(0.0, steps * world.display, len(value))

    return fault


def sound(rng, world, value, at):
    """Nothing is wrong."""
    return value


def inches(station, factor):
    """The unit key is pressed after a station, on a dial zeroed at the first."""

    def fault(rng, world, value, at):
        first = int(np.flatnonzero(at == station)[-1]) + 1
        zeroed = value - value[0]
        return np.concatenate([zeroed[:first], zeroed[first:] * factor])

    return fault


def swept(rng, world, fault=sound, setup=None, display=shown):
    """The result of such a sweep."""
    setup = setup or Setup(closing=world.closing)
    deg, at = path(world)
    if world.streamed:
        slow = healthy(rng, replace(world, noise=0.0), deg) + rng.normal(0.0, world.noise, len(world.stops))[
            at
        ] * (at >= 0)
        value = fault(rng, world, slow, at)
    else:
        deg, at = world.stops, np.arange(len(world.stops))
        value = fault(rng, world, healthy(rng, world, deg), at)
    value = display(rng, world, value, at)
    fitter, last = Fitter(setup), 0
    for k, stop in enumerate(world.stops):
        mine = np.flatnonzero(at == k)
        moved = float(np.ptp(value[last : mine[-1] + 1])) * THOU if world.streamed and k else math.nan
        fitter.add_station(
            stop, value[mine] * THOU, mine / 10.0 if world.streamed else np.array([4.0 * k]), moved
        )
        last = int(mine[-1]) + 1
    return fitter.result()


def reset(after):
    """A counter that is set to zero after so many degrees."""
    return lambda deg: np.where(deg - deg[0] < after, deg, deg - deg[0] - after)


LOST = [
    (clipped if k % 3 else held, World(
        off=3.0 + 0.05 * k, form=(0.5, 1.0, 1.5)[k % 3], noise=(0.03, 0.1, 0.2)[k // 3 % 3],
        display=(0.05, 0.1, 0.2, 0.3937, 0.5)[k % 5], flicker=k // 5 % 3, stations=(8, 8, 12, 6)[k // 4 % 4],
        streamed=k % 2 == 0,
    )) for k in range(60)
]  # fmt: skip
"""Sixty sweeps of bores over the limit, of which the part `lost_in` is lost: what went wrong, and the world."""


def lost_in(k):
    """Result of one of them: travel lost at the lowest or highest, or a hold from any station on, every other time
    one whose digits stand."""
    kind, world = LOST[k]
    rng = np.random.default_rng(k)
    if kind is clipped:
        return swept(rng, world, clipped(0.2 + 0.45 * (k / 59.0), low=k % 2 == 0))
    station = 1 + k // 3 % (len(world.stops) - 2)
    if k % 2:
        return swept(rng, world, display=frozen(station))
    return swept(rng, world, held(station))


def passed(rng, world, fault=sound, angle=None, readings=1200):
    """The result of a sweep read in passing, `world.turns` and a little. angle(deg): what the encoder says."""
    deg = rng.uniform(0.0, 360.0) + np.linspace(0.0, 360.0 * world.turns + 10.0, readings)
    at = np.minimum(np.arange(readings) * 12 // readings, 11)
    value = shown(rng, world, fault(rng, world, healthy(rng, world, deg), at))
    fitter = Fitter(Setup())
    fitter.add_track(deg if angle is None else angle(deg), value * THOU, np.arange(readings) / 50.0)
    return fitter.result()
