"""The report as PDF pages, set by typst from the same content as the HTML."""

import json
import re
from collections.abc import Mapping
from dataclasses import asdict
from importlib import resources
from typing import Any, Final

from ..errors import Failure, UsageError
from .content import Content

MISSING: Final = (
    "PDF needs the package typst, which is not installed: pip install 'coaxly[pdf]'; "
    "or write FILE.html and print it from a browser"
)
_LONG_WORD: Final = re.compile(r"\S{24,}")
_SOME: Final = re.compile(r".{12}")


def need_typst() -> Any:
    """The library. Raises UsageError, saying how to install it."""
    try:
        import typst
    except ImportError as error:
        raise UsageError(MISSING) from error
    return typst


def set_pages(template: bytes, inputs: Mapping[str, str], instead: str = "HTML") -> bytes:
    """The pages of a template. inputs: data, never markup; instead: what else can be written.

    Raises UsageError or Failure.
    """
    try:
        return bytes(need_typst().compile(template, format="pdf", sys_inputs=dict(inputs)))
    except (RuntimeError, ValueError) as error:
        raise Failure(f"the PDF could not be set, write {instead} instead: {str(error)[:200]}") from error


def from_template(name: str, data: dict[str, Any]) -> bytes:
    """The pages of one of our templates, filled with data. Raises UsageError or Failure."""
    template = (resources.files("coaxly.report") / "templates" / name).read_bytes()
    return set_pages(template, {"data": json.dumps(breakable(data))})


def pdf(content: Content) -> bytes:
    """The pages. Text goes in as data, never as markup. Raises UsageError or Failure."""
    data: dict[str, Any] = asdict(content)
    data["footer"] = f"{content.front.title}: {content.front.verdict}"
    for photo, told in zip(content.photos, data["photos"], strict=True):
        told["svg"] = photo.framed()
        del told["data"]
    return from_template("report.typ", data)


def breakable(value: Any) -> Any:
    """Texts within lists and dictionaries, long words allowed to break: what runs off the paper is lost.
    Pictures are left alone."""
    if isinstance(value, dict):
        return {key: breakable(inner) for key, inner in value.items()}
    if isinstance(value, list | tuple):
        return [breakable(inner) for inner in value]
    if isinstance(value, str) and not value.startswith("<svg"):
        return _LONG_WORD.sub(lambda word: _SOME.sub("\\g<0>\u200b", word[0]), value)
    return value
