"""Kill every step of a job at random moments: is what was there before still there, and can the work go on?

    python tests/bench/kills.py [--kills 200] [--screen 100] [--seed 1]

Each step of a whole job (opened, swept, planned, fitted, swept, proved, noted, photographed, reported, packed,
unpacked) is run by a copy of this process that kills itself with SIGKILL at a random moment of it. Then the shop
is looked at: every record that the journal held is there, in order, its seals hold, every file that it names is
there and as it was noted, the list and the audit come to an end, and the same step, taken again, goes through.
On the screen (in tmux) the built-in engine's job is worked by keys and killed at random moments.
"""

import argparse
import os
import random
import shlex
import shutil
import signal
import subprocess
import sys
import tempfile
import threading
import time
from collections import Counter
from pathlib import Path

from PIL import Image
from shopping import SWEEP, Shop, readings

from coaxly.job.folder.index import Index
from coaxly.job.folder.journal import decoded
from coaxly.job.folder.kept import Kept, kept
from coaxly.job.folder.shop import Job
from coaxly.job.folder.snapshot import look
from coaxly.job.steps.audit import audit, recordings_in

STEPS = {
    "open": (("job", "open", "blue van", "--limit", "5thou", "--kit", "5thou,7thou"), ""),
    "sweep as found": (SWEEP, readings(-5, 5)),
    "choose": (("plan", "van", "--take", "1"), ""),
    "fit": (("job", "fitted", "van"), ""),
    "sweep as left": ((*SWEEP, "--stage", "left"), readings(-0.1, 0.1)),
    "prove": (("verify", "van"), ""),
    "note": (("job", "note", "van", "a word"), ""),
    "photo": (("job", "photo", "van", "{home}/dial.png"), ""),
    "report": (("report", "van"), ""),
    "pack": (("job", "pack", "van", "-o", "{shop}/../van.zip"), ""),
    "unpack": (("job", "unpack", "{home}/van.zip"), ""),
}
FINE = {"ok", "unsealed", "unfinished", "incomplete", "unsigned"}


class Course:
    """A job worked once: the shop as it was before each step, and how long that took."""

    def __init__(self, home: Path):
        self.home = home
        Image.new("RGB", (400, 300), "red").save(home / "dial.png")
        self.seconds = {}
        shop = Shop(home / "work" / "shop")
        shop.folder.mkdir(parents=True)
        for name in STEPS:
            shutil.copytree(shop.folder.parent, home / name)
            begun = time.monotonic()
            done = self.take(shop, name)
            assert done.code in (0, 1), (name, done)
            self.seconds[name] = time.monotonic() - begun
            if name == "pack":
                shutil.copy(shop.folder.parent / "van.zip", home / "van.zip")

    def take(self, shop: Shop, name: str, prepare=None):
        words, typed = STEPS[name]
        said = [str(word).format(home=self.home, shop=shop.folder) for word in words]
        return shop(*said, typed=typed) if prepare is None else shop.killed(prepare, *said, typed=typed)


def jobs(shop: Path) -> list[Path]:
    return sorted(path for path in shop.glob("2*") if path.is_dir())


def wrong(shop: Path, before: dict[str, bytes]) -> list[str]:
    """What cannot be gone by in a shop. before: journals as they were."""
    found = []
    with Index(shop) as index:
        found += [f"{row.folder}: {row.amiss}" for row in index.rows() if row.amiss]
    for path in jobs(shop):
        try:
            known = look(Job(path))
        except Exception as error:
            found.append(f"{path.name}: {error}")
            continue
        old = before.get(path.name, b"")
        if list(known.records[: len(decoded(old))]) != decoded(old):
            found.append(f"{path.name}: records are gone")
        if known.journal.seals.state == "changed":
            found.append(f"{path.name}: {known.journal.seals.what}")
        if kept(known.job, known.records) != Kept():
            found.append(f"{path.name}: {kept(known.job, known.records)}")
    for path in recordings_in([shop]):
        if path.name != "journal.jsonl" and path.stat().st_size and (state := audit(path).state) not in FINE:
            found.append(f"{path.name}: {state}")
    return found


def killed_in(course: Course, name: str, dice: random.Random) -> list[str]:
    """What came of one kill."""
    with tempfile.TemporaryDirectory() as folder:
        home = Path(folder) / "x"
        shutil.copytree(course.home / name, home)
        shop = Shop(home / "shop")
        before = {path.name: (path / "journal.jsonl").read_bytes() for path in jobs(shop.folder)}
        moment = dice.uniform(0.0, 1.1 * course.seconds[name])

        def prepare() -> None:
            threading.Timer(moment, os.kill, (os.getpid(), signal.SIGKILL)).start()

        code = course.take(shop, name, prepare).code
        found = [f"after {moment:.3f} s: {each}" for each in wrong(shop.folder, before)]
        if code == -signal.SIGKILL:
            (home / "van.zip").unlink(missing_ok=True)
            again = course.take(shop, name)
            if again.code not in (0, 1) and not _done_before(name, again.err):
                found.append(f"after {moment:.3f} s, again: {again.err.strip()}")
        return found if code == -signal.SIGKILL else [*found, "ended"]


def _done_before(name: str, said: str) -> bool:
    """Whether the step had been taken when it was killed, and says so now."""
    words = {
        "open": "",
        "choose": "dowels are fitted",
        "fit": "no dowels were chosen",
        "sweep as found": "--stage left",
    }
    return name in words and words[name] in said


def on_the_screen(folder: Path, dice: random.Random) -> list[str]:
    """The built-in engine's job on the screen, worked by keys, killed at a random moment."""
    shop = folder / "demo"
    session = f"coaxly-{folder.parent.name}-{folder.name}"  # a server that is going down takes no new session
    tmux = ["tmux", "-L", session]
    command = f"exec {shlex.quote(sys.executable)} -m coaxly demo --keep {shlex.quote(str(shop))} --speed 4"
    subprocess.run([*tmux, "new-session", "-d", "-x", "100", "-y", "30", "-s", "x", command], check=True)
    end = time.monotonic() + dice.uniform(1.0, 14.0)
    try:
        pid = int(
            subprocess.run(
                [*tmux, "list-panes", "-F", "#{pane_pid}"], check=True, capture_output=True, text=True
            ).stdout
        )
        while time.monotonic() < end:
            subprocess.run(
                [*tmux, "send-keys", dice.choice(["Enter", "Space", "Enter", "l"])], capture_output=True
            )
            time.sleep(0.15)
        try:
            os.kill(pid, signal.SIGKILL)
        except ProcessLookupError:
            return ["ended"]
    except (subprocess.CalledProcessError, ValueError):
        return ["ended"]
    finally:
        subprocess.run([*tmux, "kill-server"], capture_output=True)
    return wrong(shop, {}) if shop.exists() else []


def main() -> None:
    """Print a table of kills and of what they cost."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--kills", type=int, default=200)
    parser.add_argument("--screen", type=int, default=100)
    parser.add_argument("--seed", type=int, default=1)
    arguments = parser.parse_args()
    dice, tries, bad, ended = random.Random(arguments.seed), Counter(), [], Counter()
    reached: Counter[int] = Counter()
    with tempfile.TemporaryDirectory() as folder:
        course = Course(Path(folder))
        for k in range(arguments.kills):
            name = list(STEPS)[k % len(STEPS)]
            found = killed_in(course, name, dice)
            tries[name] += 1
            ended[name] += "ended" in found
            bad += [f"{name}: {each}" for each in found if each != "ended"]
        for k in range(arguments.screen):
            found = on_the_screen(Path(folder) / f"screen-{k}", dice)
            tries["screen"] += 1
            reached[len(list(Path(folder).glob(f"screen-{k}/demo/**/*-[0-9].jsonl")))] += 1
            ended["screen"] += "ended" in found
            bad += [f"screen: {each}" for each in found if each != "ended"]
    for name, count in tries.items():
        print(f"{name:<16} {count:4d} tries, {count - ended[name]:4d} killed before the end")
    if reached:
        print(
            "on the screen, recordings begun by then: "
            + ", ".join(f"{n}: {reached[n]}" for n in sorted(reached))
        )
    print(f"{sum(tries.values())} tries, {len(bad)} failures")
    print("\n".join(bad))


if __name__ == "__main__":
    main()
