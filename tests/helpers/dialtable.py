"""How dials talk: one table of lines, each of which is heard, asked about and swept with by the tests.

To add a dial, add a line: its name, what is known of its unit, and the line that it sends. `d` has the moment:
the reading as mm, inch or um, d.k counts lines from 0, d.ms is a clock, d.deg the crank's angle. All shapes are
made up or common to many makers (common practice, no source).
"""

import functools
import operator
from collections.abc import Callable
from dataclasses import dataclass

MM, INCH = "mm", "in"


@dataclass(frozen=True)
class Moment:
    """What a dial has to say."""

    mm: float
    k: int = 0
    ms: int = 0
    deg: float = 0.0

    @property
    def inch(self) -> float:
        return self.mm / 25.4

    @property
    def um(self) -> float:
        return self.mm * 1000.0

    @property
    def s(self) -> str:
        return "-" if self.mm < 0.0 else "+"

    @property
    def a(self) -> float:
        """Its size, mm."""
        return abs(self.mm)


@dataclass(frozen=True)
class Dial:
    """One kind of line. unit: what its display shows, which a person can say. line: as text, each character a
    byte. expected: read (rightly, whatever has to be asked), or refused with words of this pattern. shows: the decimals of
    its display. pause: only a pause ends its lines."""

    name: str
    unit: str
    line: Callable[[Moment], str]
    refused: str = ""
    decimals: int = 0
    angle: bool = False
    pause: bool = False

    def shows(self, d: Moment) -> str:
        """What stands on its display."""
        value, decimals = (d.mm, 3) if self.unit == MM else (d.inch, 4)
        return f"{value:.{self.decimals or decimals}f}"


def _xor(text: str) -> str:
    return f"{functools.reduce(operator.xor, text.encode('latin-1'), 0):02X}"


def _sum(text: str) -> str:
    return f"{sum(text.encode('latin-1')) & 0xFF:02X}"


def _comma(text: str) -> str:
    return text.replace(".", ",")


def _every(d: Moment, nth: int, line: str, other: str) -> str:
    return other if d.k % nth == nth - 1 else line


GIVEN = (
    Dial("plain mm", MM, lambda d: f"{d.mm:+.3f}\r\n"),
    Dial("no leading nought", INCH, lambda d: f"{d.inch:.4f}\n".replace("0.", ".", 1)),
    Dial("sign, blanks, digits", MM, lambda d: f"{d.s}    {d.a:.3f}\r\n"),
    Dial("sign behind", MM, lambda d: f"{d.a:07.3f}{d.s}\r\n"),
    Dial("minus behind, blank for plus", MM, lambda d: f"  {d.a:.3f}{d.s.replace('+', ' ')}\r\n"),
    Dial("CR CR LF", MM, lambda d: f"{d.mm:+.3f}\r\r\n"),
    Dial("power of ten", MM, lambda d: f"{d.mm:+.4e}\r\n"),
    Dial("mm behind", MM, lambda d: f"{d.mm:+.3f} mm\r\n"),
    Dial("in glued behind", INCH, lambda d: f"{d.inch:+.5f}in\r\n"),
    Dial("inch mark behind", INCH, lambda d: f'{d.inch:+.4f}"\r\n'),
    Dial("comma, then MM", MM, lambda d: f"{d.s} {d.a:.4f}, MM\r\n"),
    Dial("decimal comma and mm", MM, lambda d: _comma(f"{d.mm:8.3f} mm\r\n")),
    Dial("micro sign in UTF-8", MM, lambda d: f"{d.um:+.1f} \xc2\xb5m\r\n"),
    Dial("Greek mu in UTF-8", MM, lambda d: f"{d.um:+.1f} \xce\xbcm\r\n"),
    Dial("the word micron", MM, lambda d: f"{d.um:+.1f} micron\r\n"),
    Dial("microinch in Latin-1", INCH, lambda d: f"{d.inch * 1e6:+.0f} \xb5in\r\n"),
    Dial("mil and a name", INCH, lambda d: f"{d.inch * 1e3:7.2f} mil  N1    \r\n"),
    Dial("cm behind", MM, lambda d: f"{d.mm / 10:+.4f} cm\r\n"),
    Dial("both units", MM, lambda d: f"{d.mm:.3f} mm {d.inch:.4f} in\r\n"),
    Dial("a code, then the value", MM, lambda d: f"01A{d.mm:+09.3f}\r"),
    Dial("an axis", MM, lambda d: f"X{d.mm:+09.3f}\r\n"),
    Dial("axis =, blank, a letter", MM, lambda d: f"X={d.s}   {d.a:.4f}   R\r\n"),
    Dial("two channels glued", MM, lambda d: f"A{d.mm:+08.4f}B+00.5512\r\n"),
    Dial("two channels, a line each", MM, lambda d: f"01A{d.mm:+09.3f}\r" if d.k % 2 == 0 else "02A+0007.250\r"),
    Dial("four channels with commas", MM, lambda d: f"+0.0120,{d.mm:+.4f},-1.2055,+0.3301\r\n"),
    Dial("tabs: name, value, unit, OK", MM, lambda d: f"1\t{d.mm:.3f}\tmm\tOK\r\n"),
    Dial("two letters that tell rest", MM, lambda d: f"{'ST' if d.k % 2 == 0 else 'US'},GS,{d.mm:+09.3f}mm\r\n"),
    Dial("a letter behind that tells rest", MM, lambda d: f"{d.mm:+.3f} mm {'DS'[d.k % 2]}\r\n"),
    Dial("a mark of tolerance", MM, lambda d: f"{d.mm:+.3f} {'<' if d.mm < 1 else '='}\r\n"),
    Dial("letters of tolerance in front", MM, lambda d: f"NM{'L' if d.mm < 1 else 'G'}{d.mm:+08.4f}\r\n"),
    Dial("always HOLD", MM, lambda d: f"{d.mm:+.3f} mm HOLD\r\n", "HOLD"),
    Dial("STX, ETX, CRLF", MM, lambda d: f"\x02{d.mm:+09.3f}\x03\r\n"),
    Dial("LF before, CR ETX behind", MM, lambda d: f"\n{d.mm:9.3f}mmGR\r\x03"),
    Dial("nine characters, no end", MM, lambda d: f"{d.mm:+09.3f}"),
    Dial("NUL behind", MM, lambda d: f"{d.mm:+.3f}\r\n\x00"),
    Dial("xor behind a star", MM, lambda d: f"${(b := f'DIAL,{d.mm:+.4f},MM')}*{_xor(b)}\r\n"),
    Dial("sign and point coded in digits", MM, lambda d: f"\x024194{int(d.mm < 0)}3{round(d.a * 1000):08d}\r", "coded"),
    Dial("colours", MM, lambda d: f"\x1b[32m{d.mm:+.3f}\x1b[0m\r\n"),
    Dial("counts of 5 um", MM, lambda d: f"{round(d.um / 5)}\r\n"),
    Dial("tenths of a thou, a word before", INCH, lambda d: f"DISP {round(d.inch * 1e4):+06d}\r\n"),
    Dial("per cent, dollar, stars", MM, lambda d: f"%03$RMD{round(d.mm * 1e4):+08d}**\r"),
    Dial("six digits, ended by 0x12", MM, lambda d: f"{'-' if d.mm < 0 else ''}{round(d.um) if d.mm >= 0 else round(-d.um):06d}\x12"),
    Dial("a clock in ms", MM, lambda d: f"{d.ms},{d.mm:.4f}\r\n"),
    Dial("date and time", MM, lambda d: f"2024-05-01 12:{d.ms // 60000 % 60:02d}:{d.ms // 1000 % 60:02d}.{d.ms % 1000:03d} {d.mm:+.4f}\r\n"),
    Dial("JSON", INCH, lambda d: f'{{"ch1":{{"pos":{d.inch:.4f},"unit":"in"}},"seq":{d.k}}}\n'),
    Dial("names and values", MM, lambda d: f"pos={d.mm:.4f} unit=mm batt=97 temp=23.4\r\n"),
    Dial("value, least, most", MM, lambda d: f"{d.mm:.3f} 0.634 1.834\r\n"),
    Dial("counts and value", MM, lambda d: f"{round(d.um)} {d.mm:.4f}\r\n"),
    Dial("angle, value", MM, lambda d: f"{d.deg:.2f},{d.mm:+.4f}\r\n", angle=True),
    Dial("value; angle", MM, lambda d: f"{d.mm:+.4f};{d.deg:.2f}\r\n", angle=True),
    Dial("clock, angle, value", MM, lambda d: f"{d.ms},{d.deg:.1f},{d.mm:+.4f}\r\n", angle=True),
    Dial("words at the start", MM, lambda d: ("Indicator reader v1.2 ready, 9600 baud\r\n" if d.k == 0 else "") + f"{d.mm:+.3f}\r\n"),
    Dial("dashes between", MM, lambda d: _every(d, 4, f"{d.mm:+.3f}\r\n", "------\r\n")),
    Dial("errors between", MM, lambda d: _every(d, 5, f"{d.mm:+.3f}\r\n", "E-1\r\n")),
    Dial("mm on each line", MM, lambda d: f"{d.mm:+.3f} mm\r\n"),
)  # fmt: skip
"""Shapes that were collected from outside."""

OWN = (
    Dial("mm in front", MM, lambda d: f"mm {d.mm:+.3f}\r\n"),
    Dial("IN in front, glued", INCH, lambda d: f"IN{d.inch:+.4f}\r\n"),
    Dial("both units, in front", MM, lambda d: f"mm {d.mm:.3f} in {d.inch:.4f}\r\n"),
    Dial("both units, inches first", INCH, lambda d: f"{d.inch:+.4f}in/{d.mm:+.3f}mm\r\n"),
    Dial("sum behind", MM, lambda d: (b := f"D,{d.mm:+.4f},MM,") + _sum(b) + "\r\n"),
    Dial("xor glued to the value", MM, lambda d: (b := f"{d.mm:+.4f}") + _xor(b) + "\r\n"),
    Dial("a checksum of its own", MM, lambda d: f"{d.mm:+.4f};{(round(abs(d.um)) * 7 + 13) % 97:02d}\r\n"),
    Dial("thousands parted", MM, lambda d: f"{d.um:+,.1f} um\r\n"),
    Dial("hundredths of a mm", MM, lambda d: f"{d.mm * 100:+.1f} 1/100 mm\r\n"),
    Dial("thousandths of an inch", INCH, lambda d: f"{d.inch * 1000:+.2f} 1/1000 in\r\n"),
    Dial("thou behind", INCH, lambda d: f"{d.inch * 1000:+.1f} thou\r\n"),
    Dial("uin behind", INCH, lambda d: f"{d.inch * 1e6:+.0f}uin\r\n"),
    Dial("microns in capitals", MM, lambda d: f"{d.um:+.0f} MICRONS\r\n"),
    Dial("metres", MM, lambda d: f"{d.mm / 1000:+.6f} m\r\n"),
    Dial("mu alone", MM, lambda d: f"{d.um:+.0f} \xc2\xb5\r\n"),
    Dial("semicolons at both ends", MM, lambda d: f";{d.mm:+.3f};\r\n"),
    Dial("brackets", MM, lambda d: f"[{d.mm:+.3f}]\r\n"),
    Dial("quoted", MM, lambda d: f'"{d.mm:+.3f}","mm"\r\n'),
    Dial("XML", MM, lambda d: f"<v u='mm'>{d.mm:.4f}</v>\r\n"),
    Dial("ended by a semicolon", MM, lambda d: f"{d.mm:+.3f};"),
    Dial("ended by ETX", MM, lambda d: f"\x02{d.mm:+.3f}\x03"),
    Dial("ended by NUL", MM, lambda d: f"{d.mm:+.3f}\x00"),
    Dial("ended by a record separator", INCH, lambda d: f"{d.inch:+.4f}\x1e"),
    Dial("twelve characters with unit, no end", MM, lambda d: f"{d.mm:+09.3f} mm"),
    Dial("minus sign of Unicode", MM, lambda d: f"{d.mm:.3f} mm\r\n".replace("-", "\xe2\x88\x92")),
    Dial("three channels, named", MM, lambda d: (f"P1:{d.mm:+.3f}\r\n", "P2:+4.120\r\n", "P3:-0.007\r\n")[d.k % 3]),
    Dial("temperature on every other line", MM, lambda d: (f"POS {d.mm:+.3f}\r\n", "TEMP 23.4\r\n")[d.k % 2]),
    Dial("channels glued with names of two letters", MM, lambda d: f"S1+00.2510S2{d.mm:+08.4f}\r\n"),
    Dial("temperature that wanders", MM, lambda d: f"{23.4 + (d.k % 3) / 10:.1f} {d.mm:.3f}\r\n"),
    Dial("battery that falls", MM, lambda d: f"{d.mm:.3f} B{97 - d.k // 200}\r\n"),
    Dial("counter behind", MM, lambda d: f"{d.mm:.3f} #{d.k:05d}\r\n"),
    Dial("counter of one digit", MM, lambda d: f"{d.k % 10} {d.mm:+.3f}\r\n"),
    Dial("clock of the day", INCH, lambda d: f"{8 + d.ms // 3600000:02d}:{d.ms // 60000 % 60:02d}:{d.ms // 1000 % 60:02d} {d.inch:+.4f}\r\n"),
    Dial("ISO time", MM, lambda d: f"2026-02-03T10:00:{d.ms // 1000 % 60:02d}.{d.ms % 1000:03d}Z,{d.mm:.3f},mm\r\n"),
    Dial("JSON with text", MM, lambda d: f'{{"reading": "{d.mm:.3f}", "units": "mm", "low": false}}\r\n'),
    Dial("JSON, unit first", INCH, lambda d: f'{{"u":"in","v":{d.inch:.5f},"t":{d.ms}}}\n'),
    Dial("name: value, unit", MM, lambda d: f"Reading : {d.mm:.3f} mm ; Status : OK\r\n"),
    Dial("microns without a word", MM, lambda d: f"{round(d.um):+06d}\r\n"),
    Dial("tenths of a micron, 7 digits", MM, lambda d: f"{d.s}{round(d.a * 1e4):07d}\r\n"),
    Dial("half a thou a count", INCH, lambda d: f"C{round(d.inch / 0.0005):+d}\r\n"),
    Dial("a minus like brackets", MM, lambda d: f"({d.a:.3f})\r\n" if d.mm < 0 else f"{d.a:.3f}\r\n", "Not kept"),
    Dial("pushed in counts down", MM, lambda d: f"{d.mm:+.3f} mm\r\n"),
    Dial("value and speed", MM, lambda d: f"{d.mm:+.3f} {(d.k * 37) % 11 / 100:.2f}\r\n"),
    Dial("two letters behind, always", MM, lambda d: f"{d.mm:+.3f} OK\r\n"),
    Dial("over range now and then", MM, lambda d: _every(d, 6, f"{d.mm:+.3f}\r\n", "+99.999\r\n")),
    Dial("over range in words", MM, lambda d: _every(d, 6, f"{d.mm:+.3f} mm\r\n", "OVER\r\n")),
    Dial("blank lines between", MM, lambda d: f"{d.mm:+.3f}\r\n\r\n   \r\n"),
    Dial("a star behind when it rests", MM, lambda d: f"{d.mm:+.3f}{'*' if d.k % 7 else ''}\r\n"),
    Dial("underscores and a name", INCH, lambda d: f"probe_7={d.inch:.4f}_in\r\n"),
    Dial("ended by a pause", MM, lambda d: f"{d.mm:.3f}", pause=True),
    Dial("a name and a unit, ended by a pause", INCH, lambda d: f"D1 {d.inch:.4f} in", pause=True),
    Dial("sign as a letter", MM, lambda d: f"{'N' if d.mm < 0 else 'P'}{d.a:.3f}\r\n", "nought"),
    Dial("sign as a figure", MM, lambda d: f"{int(d.mm < 0)},{d.a:.3f}\r\n", "nought"),
    Dial("sign as a word", MM, lambda d: f"{'MINUS' if d.mm < 0 else 'PLUS'} {d.a:.3f} mm\r\n", "nought"),
    Dial("the way behind", MM, lambda d: f"{d.a:.3f} {'CCW' if d.mm < 0 else 'CW'}\r\n", "nought"),
    Dial("16 bit without a sign", MM, lambda d: f"{round(d.um) % 65536}\r\n", "starts anew"),
    Dial("six digits that turn over", MM, lambda d: f"{round(d.um) % 1000000:06d}\r\n", "starts anew"),
    Dial("hexadecimal", MM, lambda d: f"0x{round(d.um) & 0xFFFF:04X}\r\n", r"cannot be made of|understood \d\d %"),
    Dial("units that take turns", MM, lambda d: (f"{d.mm:+.3f} mm\r\n", f"{d.inch:+.4f} in\r\n")[d.k % 2]),
    Dial("value twice", MM, lambda d: f"{d.mm:+.3f} {d.mm:+.3f}\r\n"),
    Dial("value and its minus", MM, lambda d: f"{-d.mm:+.3f} {d.mm:+.3f}\r\n"),
    Dial("per cent of a mm", MM, lambda d: f"{d.mm * 100:+.1f} %\r\n"),
    Dial("whole digits and a power", MM, lambda d: f"{round(d.um):+d}E-3\r\n"),
    Dial("a class that follows", MM, lambda d: f"{1 + (d.mm > 0.1) + (d.mm > 0.3)} {d.mm:+.3f}\r\n"),
    Dial("degrees of a hand", MM, lambda d: f"{d.mm * 360:.1f} deg {d.mm:.3f} mm\r\n"),
    Dial("temperature glued", MM, lambda d: f"{d.mm:+.3f}mm {21.5 + d.k % 4 / 10:.1f}C\r\n"),
    Dial("seconds since 1970", MM, lambda d: f"{1700000000 + d.ms / 1000:.3f} {d.mm:+.4f}\r\n"),
    Dial("inch mark, then bare mm", INCH, lambda d: f'{d.inch:+.4f}" {d.mm:+.3f}\r\n'),
    Dial("pipe between", MM, lambda d: f"|{d.k:04d}|{d.mm:+.3f}|mm|\r\n"),
)  # fmt: skip
"""More of our own."""

DIALS = (*GIVEN, *OWN)
