"""From what lines hold to the pattern of a profile: words as they stand, whatever may vary let loose."""

import re
from collections.abc import Iterable, Sequence
from typing import Final

from ..profile import DECIMAL, PAIR
from .coded import SIGN_WORDS, unsigned
from .finder import Found
from .lines import NUMBER, STAMP, UNIT, LineKind
from .questions import Role
from .tokens import MARKS, Token, number_pattern
from .unitwords import UNIT_PATTERN

CHECKSUM: Final = r"[0-9A-Fa-f]{2}"
_BLANK: Final = r"\s*"
_CONTROLS: Final = r"(?:\x1b\[[\d;?]*[@-~]|[\x00-\x20])*"
_LOOSE: Final = re.escape("".join(mark for mark in MARKS if mark not in "+-"))
_STATUS: Final = "[A-Za-z]{0,4}"
"""A short word may be a status letter, and come and go."""
_UNUSED: Final[tuple[Role, ...]] = ("clock",)
_WORD: Final = 4
"""A word of so many letters is plainly one."""


def pattern_of(found: Found, check: str = "", echo: str = "", *, exact: bool = False) -> str:
    """The pattern for lines of a kind, with a group for each role. check: "checked" for a checksum behind
    that is to be checked, "ignored" for one of an unknown sort, "" for none. echo: a request that comes
    back. exact: the decimals of the reading show that its line is whole; "" where they cannot."""
    if not echo and not exact and (plain := _plain(found, check)) is not None:
        return plain
    own = _of_kind(found.kind, found.roles, found.unit, strict=bool(found.others))
    own += {"": "", "checked": f"(?P<check>{CHECKSUM})\\s*", "ignored": f"{CHECKSUM}\\s*"}[check]
    others = [_of_kind(kind, _UNUSED * len(kind.fields()), None, strict=False) for kind in found.others]
    others += [rf"\s*{_escaped(echo)}\s*"] if echo else []
    pattern = f"{own}|(?P<unused>{'|'.join(others)})" if others else own
    return _exactly(pattern, found) if exact else pattern


def _exactly(pattern: str, found: Found) -> str:
    """A pattern whose reading has just as many decimals as it was always seen to have; "" if it had not."""
    texts = found.kind.fields()[found.value].texts
    decimals = {len(re.split("[.,]", text.strip())[-1].rstrip("+- ")) for text in texts}
    body = number_pattern(found.kind.decimal, behind=False).partition(r"\s*)?")[2]
    return pattern.replace(body, rf"\d+[.,]\d{{{decimals.pop()}}}") if len(decimals) == 1 else ""


def _plain(found: Found, check: str) -> str | None:
    """A built-in pattern, which is read fast, where nothing but its numbers stands on the lines."""
    bare = not found.others and not check and not any(gap for line in found.kind.lines for gap in line.gaps)
    for pattern, skeleton, roles in (
        (DECIMAL, (NUMBER,), ("value",)),
        (PAIR, (NUMBER, ",", NUMBER), ("angle", "value")),
    ):
        if bare and found.kind.skeleton == skeleton and found.roles == roles:
            texts = [",".join(line.numbers) for line in found.kind.lines]
            if all(re.fullmatch(pattern, text) for text in texts):
                return pattern
    return None


def _of_kind(kind: LineKind, roles: Sequence[Role], unit: int | None, *, strict: bool) -> str:
    tokens = [token for line in kind.lines for gap in line.gaps for token in gap]
    blank = _CONTROLS if any(token.kind in ("control", "escape") for token in tokens) else _BLANK
    # Beside a number that came without any sign a letter or a figure may be that of other lines.
    signs = "value" in roles and unsigned(kind.fields()[list(roles).index("value")])
    fixed = SIGN_WORDS | {"0", "1"} if signs else frozenset[str]()
    parts, k = [], -1
    for at, part in enumerate(kind.skeleton):
        following = part if part == NUMBER or part in "=:" else ""
        parts.append(_gap(kind, at, blank, following, fixed, strict=strict))
        if part == NUMBER:
            k += 1
            parts.append(_number(kind, at, k, roles, fixed, strict=strict))
        elif part == STAMP:
            parts.append(_either(_digits_free(line.parts[at]) for line in kind.lines))
        elif part == UNIT:
            own = _either(_escaped(line.parts[at]) for line in kind.lines)
            parts.append(r"\S+?" if at != unit else f"(?P<unit>{own})" if strict else UNIT_PATTERN)
        else:
            parts.append(_escaped(part))
    parts.append(_gap(kind, len(kind.skeleton), blank, "", fixed, strict=strict))
    whole = blank.join(["", *(part for part in parts if part), ""])
    return re.sub(rf"(?:{re.escape(blank)}){{2,}}", lambda _: blank, whole)


def _number(
    kind: LineKind, at: int, k: int, roles: Sequence[Role], fixed: frozenset[str], *, strict: bool
) -> str:
    texts = [line.numbers[k] for line in kind.lines]
    role = roles[k]
    if role in ("value", "angle"):
        signed = any(text[0] in "+-\xe2" for text in texts)
        free = not signed and kind.skeleton[at + 1 : at + 2] != (NUMBER,)
        pattern = number_pattern(kind.decimal, behind=free)
        if not any("\xe2" in text for text in texts):
            pattern = pattern.replace(r"(?:[+-]|\xe2\x88\x92)", "[+-]")
        return f"(?P<{role}>{pattern})"
    stays = len(set(texts)) == 1 and texts[0].isdigit()
    # Before the reading it may name a channel; behind it may be a battery.
    if stays and (strict or texts[0] in fixed or ("value" in roles[k:] and kind.lines[0].is_name(k))):
        return texts[0]
    return r"[+-]?\s*[\d,]+" if kind.decimal == "," else r"[+-]?\s*[\d.]+(?:[eE][+-]?\d+)?"


def _gap(kind: LineKind, at: int, blank: str, following: str, fixed: frozenset[str], *, strict: bool) -> str:
    """What stands before a part: as it is where it is plainly a word, else let loose. following: NUMBER or
    the sign behind a name, if one of these comes next. fixed: words that stay as they are, too."""
    seen = {_seen(line.gaps[at]) for line in kind.lines}
    if len(seen) == 1:
        gap = [token for token in kind.lines[0].gaps[at] if token.kind in ("word", "mark")]
        names = ["=" if token.text == "=" else token.kind for token in gap] + [following]
        return blank.join(
            _piece(token, names[k + 1], strict=strict or token.text.upper() in fixed)
            for k, token in enumerate(gap)
        )
    longest = max(sum(map(len, texts)) + len(texts) for texts in seen)
    return rf"[A-Za-z_\x80-\xff{_LOOSE}\s]{{0,{longest + 2}}}"


def _piece(token: Token, following: str, *, strict: bool) -> str:
    if token.kind == "mark":
        return _escaped(token.text) if token.text in "=+-" else f"[{_LOOSE}]{{0,3}}"
    named = following in (NUMBER, "=", ":") and len(token.text) != _WORD - 1
    if strict or named or len(token.text) >= _WORD or not token.text.isascii():
        return _escaped(token.text)
    return _STATUS


def _seen(gap: Iterable[Token]) -> tuple[str, ...]:
    return tuple(token.text for token in gap if token.kind in ("word", "mark"))


def _either(patterns: Iterable[str]) -> str:
    different = list(dict.fromkeys(patterns))
    return different[0] if len(different) == 1 else f"(?:{'|'.join(different)})"


def _digits_free(text: str) -> str:
    return "".join(r"\d" if c.isdigit() else _escaped(c) for c in text)


def _escaped(text: str) -> str:
    """Text as a pattern for just it, in printable characters."""
    return "".join(
        c if c.isascii() and (c.isalnum() or c in "_ ,;:=<>\"%'!@#&~/-") else rf"\x{ord(c):02x}" for c in text
    )
