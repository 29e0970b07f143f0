"""A person with a dial of the table (`dialtable`): pushes its plunger, turns the crank, and answers what is asked
by what stands on its display. All in the time of whoever asks."""

import math
import re

from dialtable import INCH, MM, Dial, Moment

from coaxly.logger.line.unitwords import meant

PERIOD_S = 0.1


class Person:
    """Says what the dial sends, moment by moment, and does what words ask for."""

    def __init__(self, dial: Dial, rest: str = "still") -> None:
        """rest: how the dial is when nobody is to touch it: "still", "trembles", "negative" or "moves"."""
        self.dial, self.rest = dial, rest
        self.does = "rest"
        self.asked: list[str] = []
        self._k, self._held = 0, 0.2345
        self.now = Moment(0.0)

    def sends(self) -> bytes:
        """The next line."""
        s = self._k * PERIOD_S
        mm, deg = self._held, 45.0
        if self.does == "push":
            mm = 0.2345 + 0.9 * math.sin(2.1 * s)
        elif self.does == "turn":
            mm, deg = 0.2345 + 0.02 * math.sin(s), (45.0 + 7.0 * s) % 360.0
        elif self.does == "rest":
            mm = {
                "still": mm, "trembles": mm + 0.001 * (self._k % 2), "negative": mm - 0.9,
                "moves": mm + 0.7 * math.sin(1.7 * s),
            }[self.rest]  # fmt: skip
        return self.says(mm, deg)

    def says(self, mm: float, deg: float) -> bytes:
        """A line at a reading and an angle."""
        self.now = Moment(round(mm, 4), self._k, 5000 + round(1000 * self._k * PERIOD_S), deg)
        self._k += 1
        return self.dial.line(self.now).encode("latin-1")

    def reads(self, words: str) -> str:
        """Words on a terminal or a screen: does what they ask for, and answers ("" for nothing to say)."""
        if "nothing follows" in words or "has followed it yet" in words or "A last check" in words:
            self.does = "push"
        elif "turn the crank a little" in words:
            self.does = "turn"
        elif "millimetres or inches" in words or "No line says the unit" in words:
            self.asked.append("unit")
            return self.dial.unit
        elif "Which one" in words:
            return self._which(words)
        elif "a good part of its travel in" in words:
            self._held, self.does = 1.0567, "hold"
            return self._type("shows")
        elif "Does its display now show" in words:
            return self._confirm(words)
        elif "What does its display" in words:
            self.does = "hold"
            return self._type("shows")
        return ""

    def _type(self, about: str) -> str:
        self.asked.append(about)
        return self.dial.shows(Moment(round(self._held, 4)))

    def _confirm(self, words: str) -> str:
        """Yes where it shows the same length, in whatever unit that is written."""
        self.does = "hold"
        match = re.search(r"now show (\S+) ?(.*?)\?", words)
        assert match is not None, words
        unit, factor = meant(match[2]) or ("", 0.0)
        mm = float(match[1]) * factor * (25.4 if unit == INCH else 1.0)
        return "" if abs(mm - self.now.mm) < 0.0065 else self._type("shows")

    def _which(self, words: str) -> str:
        self.asked.append("which")
        now = self.now.mm if self.dial.unit == MM else self.now.inch
        listed = re.findall(r"(\d): ([^;]+?)(?=;|\. Type)", words)
        best = min(listed, key=lambda each: abs(abs(float(each[1].replace(",", "."))) - abs(now)))
        return best[0]
