"""Whether a change of the program changes any number, on one machine bit for bit: 300 made recordings, the samples,
and 200 sweeps that never were in a file (a dozen of them are looked at by `tests/fitter/test_model.py` each time).

    python tests/bench/unchanged.py write before.json      # in the one tree
    python tests/bench/unchanged.py write after.json       # in the other
    python tests/bench/unchanged.py compare before.json after.json

The recordings are entered, by encoder, of a face, typed, or two put together; half of them hold a fault. Only what
every version has is used: the format of the files, `coaxly replay --json`, `Setup`, `Fitter` and
`analyse_together`. Sentences are not compared, only numbers, and what is there and what is not.
"""

import contextlib
import io
import json
import sys
import tempfile
from collections import Counter
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any

import numpy as np

from coaxly.fitter import Fitter, Setup
from coaxly.fitter.analysis import analyse_together
from coaxly.logger.profile import built_in
from coaxly.main import main as coaxly

THOU = 0.0254
SWEEPS = 200
RECORDINGS = 300
KINDS = ("entered", "encoder", "face", "typed", "joined")
_SENTENCES = ("warnings", "looks", "remarks")


def surface(rng, deg):
    """Readings (mm) of a bore somewhat off centre, out of round and noisy."""
    rad = np.deg2rad(deg)
    x, y = rng.normal(0.0, 4.0 * THOU, 2)
    value = rng.uniform(20, 40) * THOU - x * np.sin(rad) - y * np.cos(rad)
    value += rng.uniform(0, 1.0) * THOU * np.cos(2 * rad - rng.uniform(0, 6))
    return value + rng.normal(0.0, rng.uniform(0.02, 0.4) * THOU, len(deg))


def spoilt(rng, value):
    """A bad station, a knock, a drift, or nothing at all."""
    fault = rng.integers(0, 6)
    at = int(rng.integers(1, len(value) - 1))
    if fault == 0:
        value[at] += rng.choice([-1, 1]) * rng.uniform(3, 40) * THOU
    elif fault == 1:
        value[at:] += rng.uniform(1, 8) * THOU
    elif fault == 2:
        value += rng.uniform(-3, 3) * THOU * np.linspace(0.0, 1.0, len(value))
    return value


def entered(rng):
    """Stations at 4 to 16 places, some twice round or back again, some with a closing reading."""
    places = int(rng.integers(4, 17))
    deg = np.arange(places) * 360.0 / places
    if rng.random() < 0.2:
        deg = np.linspace(0.0, rng.uniform(150, 300), places)
    if rng.random() < 0.3:
        deg = np.concatenate([deg, deg if rng.random() < 0.5 else deg[::-1] + 3.0])
    closing = bool(rng.random() < 0.5)
    deg = np.append(deg, deg[0]) if closing else deg
    setup = Setup.from_header({"closing": closing, "limit_mm": rng.uniform(2, 12) * THOU, **extras(rng)})
    fitter = Fitter(setup)
    for k, (at, value) in enumerate(zip(deg, spoilt(rng, surface(rng, deg)), strict=True)):
        dwell = value + rng.normal(0.0, 0.05 * THOU, int(rng.integers(1, 30)))
        fitter.add_station(float(at), dwell, 10.0 * k + np.linspace(0.0, 0.5, len(dwell)))
    return fitter


def by_encoder(rng):
    """One to three turns in passing."""
    n = int(rng.integers(300, 3000))
    deg = rng.uniform(0, 360) + np.linspace(0.0, 360.0 * rng.uniform(0.6, 3.0), n)
    fitter = Fitter(Setup.from_header({"limit_mm": rng.uniform(2, 12) * THOU, **extras(rng)}))
    fitter.add_track(deg, spoilt(rng, surface(rng, deg)), np.linspace(0.0, n / 50.0, n))
    return fitter


def extras(rng):
    """Keys of a setup that some sweeps have."""
    return {
        key: value
        for key, value in {
            "sag_mm": 0.02,
            "bearing_clearance_mm": 0.05,
            "radius_mm": 180.0,
            "resolution_mm": 0.00127,
            "mpe_mm": 0.003,
            "angle_sd_deg": 1.0,
            "tip_angle_deg": 12.0,
            "repeatability_mm": 0.004,
        }.items()
        if rng.random() < 0.25
    }


def made(seeds: Iterable[int] = range(SWEEPS)) -> Iterator[tuple[str, Any]]:
    """Name and finding of made sweeps; an error is a finding, too."""
    for seed in seeds:
        rng = np.random.default_rng(seed)
        kind = ("entered", "encoder", "combined")[int(rng.choice(3, p=(0.6, 0.2, 0.2)))]
        try:
            if kind == "combined":
                several = [entered(rng) for _ in range(int(rng.integers(2, 4)))]
                sweeps = [(each.setup, each.stations()) for each in several]
                found = analyse_together(sweeps, sum(each.samples for each in several))
            else:
                found = (entered if kind == "entered" else by_encoder)(rng).result()
            yield f"{seed} {kind}", found.to_dict()
        except ValueError as error:
            yield f"{seed} {kind}", type(error).__name__


def spoken(housing, rng, kind):
    """A recording of this kind as its records, the header first. housing, rng: what the sweep meets, and what
    happens in it."""
    stops = kind != "encoder"
    deg = np.arange(9) * 45.0 if stops else np.linspace(0.0, 360.0 * housing.uniform(0.7, 2.0), 1200)
    value = spoilt(rng, surface(housing, deg))
    setup = {"limit_mm": housing.uniform(2, 12) * THOU, "closing": stops, **extras(housing)}
    yield {
        "kind": "header", "format": "coaxly-recording", "version": 1, "feature": "face" if kind == "face" else "bore",
        "setup": {**setup, "face_radius_mm": 150.0} if kind == "face" else setup,
        "instrument": {**built_in("typed" if kind == "typed" else "stream-decimal").to_header(), "unit": "mm"},
        "angle": {"mode": "entered", "stations": 8} if stops else {"mode": "encoder"},
    }  # fmt: skip
    for k, (at, mm) in enumerate(zip(deg.tolist(), value.tolist(), strict=True)):
        t = round(2.0 * k if stops else 0.02 * k, 3)
        if not stops:
            yield {"t": t, "kind": "raw", "port": "encoder", "data": f"A {at % 360.0:.2f}\r\n"}
        for i in range(1 if kind in ("typed", "encoder") else 12):
            line = f"{mm + rng.normal(0.0, 0.02 * THOU):+.4f}\r\n"
            yield {"t": round(t + 0.02 * i + 0.005, 3), "kind": "raw", "port": "indicator", "data": line}
        if stops:
            yield {"t": t + 0.5, "kind": "station", "deg": at % 360.0}


def written(folder, seed):
    """Files of a made recording: one, or two that are put together."""
    kind = KINDS[seed % len(KINDS)]
    for k in range(2 if kind == "joined" else 1):
        path = folder / f"{seed}-{kind}-{k}.jsonl"
        records = spoken(np.random.default_rng([seed, 1]), np.random.default_rng([seed, 2, k]), kind)
        path.write_text("".join(json.dumps(record) + "\n" for record in records))
        yield path


def recorded() -> Iterator[tuple[str, Any]]:
    """Name and finding of every made recording and of the samples, by the whole program."""
    with tempfile.TemporaryDirectory() as folder:
        several = [list(written(Path(folder), seed)) for seed in range(RECORDINGS)]
        for paths in [*several, *([path] for path in sorted(Path("recordings").glob("*.jsonl")))]:
            out, err = io.StringIO(), io.StringIO()
            with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
                coaxly(["replay", "--json", *map(str, paths)])
            yield (
                paths[0].stem,
                json.loads(out.getvalue()) if out.getvalue() else err.getvalue().replace(folder, ""),
            )


def numbers(value: Any, key: str = "") -> Iterator[tuple[str, Any]]:
    """Every leaf of a finding with its name, sentences left out."""
    if isinstance(value, dict):
        for name, inner in value.items():
            if name not in _SENTENCES:
                yield from numbers(inner, f"{key}.{name}")
    elif isinstance(value, list):
        for k, inner in enumerate(value):
            yield from numbers(inner, f"{key}[{k}]")
    else:
        yield key, value


def compare(before: dict[str, Any], after: dict[str, Any]) -> int:
    """Say what differs; 1 if anything does."""
    apart, worst, where, other = 0, 0.0, "", []
    leaves = 0
    for name in before.keys() | after.keys():
        ours, theirs = (dict(numbers(each.get(name), name)) for each in (before, after))
        for key in ours.keys() | theirs.keys():
            leaves += 1
            a, b = ours.get(key, "missing"), theirs.get(key, "missing")
            if a == b:
                continue
            apart += 1
            if isinstance(a, float) and isinstance(b, float):
                difference = abs(a - b) / max(abs(a), abs(b), 1e-6)
                worst, where = max((worst, where), (difference, key))
            else:
                other.append(f"{key}: {a!r} and {b!r}")
    print(f"{len(before)} findings, {leaves} numbers: {apart} differ, by {worst:.1e} at most {where}")
    print("\n".join(other[:20]))
    return int(apart > 0)


def main(what: str, *paths: str) -> int:
    """Write the findings of this tree, or compare those of two."""
    if what == "write":
        found = dict([*made(), *recorded()])
        Path(paths[0]).write_text(json.dumps(found, indent=0))
        print(dict(Counter(name.strip("0123456789- ") for name in found)))
        return 0
    return compare(*(json.loads(Path(path).read_text()) for path in paths))


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
