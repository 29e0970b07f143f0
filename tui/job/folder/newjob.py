"""What is said of a new job, checked as it is said, and written down as people would write it."""

from collections.abc import Mapping
from pathlib import Path
from typing import Any, Final

from coaxly.fitter.keys import keys_of

from ...entry.keys import read_text, yes_or_no
from ...entry.names import is_text
from ...entry.rigging import rigging
from ...errors import UsageError
from .details import Details
from .material import kit_from
from .rigs import FOLDER, rig_named

OF_THE_FACE: Final = ("face_radius", "bolts", "shims", "depth")


def proper_title(text: str) -> str:
    """A title in proper letters, blanks tidied. Raises UsageError."""
    title = " ".join(text.split())
    if not title or not is_text(title):
        raise UsageError('a job needs a title in proper letters, such as "blue van"')
    return title


def check(key: str, text: str, shop: Path) -> None:
    """Whether an answer can be meant; "" means the usual thing. Raises UsageError or ValueError, in words."""
    text = text.strip()
    if key == "title":
        proper_title(text)
    elif text and key == "face" and yes_or_no(text) is None:
        raise UsageError(f"{text[:20]!r}: write yes or no")
    elif text and key in (keys := keys_of(Details)):
        read_text(keys[key].kind, text)  # of kits at hand, the hole says which fit
    elif text and key == "stations":
        rigging({"stations": text})
    elif text and key == "rig":
        rig_named(text, shop).setup()


def wants_face(answer: str) -> bool:
    """Whether the face is part of a job, as that was answered."""
    return bool(yes_or_no(answer))


def said(answers: Mapping[str, str], shop: Path) -> tuple[str, bool, dict[str, Any]]:
    """Title, whether the face is part of it, and what goes into job.toml. Raises UsageError."""
    given = {key: text.strip() for key, text in answers.items()}
    values: dict[str, Any] = {key: given[key] for key in keys_of(Details) if key in given}
    values["kit"] = kit_from(given.get("kit", ""), shop)
    rig = given.get("rig", "")
    # A rig alone is its name; with more to say of the sweep it is a table.
    if stations := given.get("stations", ""):
        values["rig"] = {**({"rig": rig} if rig else {}), "stations": int(stations)}
    else:
        values["rig"] = rig
    for key in ("block", "housing"):
        family, slash, serial = given.get(key, "").partition("/")
        values[key] = {"family": family.strip() if slash else "", "serial": (serial or family).strip()}
    return proper_title(given.get("title", "")), wants_face(given.get("face", "")), values


def answers_of(known: Details) -> dict[str, str]:
    """The same questions answered as job.toml answers them now."""
    rig = known.rig if isinstance(known.rig, dict) else {"rig": known.rig}
    places = {"block": known.block, "housing": known.housing}
    return {
        **{key: str(getattr(known, key)) for key in keys_of(Details)},
        "stations": str(rig.get("stations", "")),
        "rig": str(rig.get("rig", "")),
        **{key: " / ".join(filter(None, (p.family, p.serial))) for key, p in places.items()},
    }


def changed(old: Mapping[str, str], new: Mapping[str, str], known: Details, shop: Path) -> dict[str, Any]:
    """The keys of job.toml that other answers change; what else a person wrote there is not touched."""
    keys = {key for key in new if new[key].strip() != old.get(key, "").strip()}
    _, _, values = said({**new, "title": "unchanged"}, shop)
    found = {key: values[key] for key in keys if key in values}
    if keys & {"stations", "rig"}:
        found["rig"] = _rig_changed(known, values["rig"])
    return found


def _rig_changed(known: Details, rig: dict[str, Any] | str) -> dict[str, Any] | str:
    """What else the table says of how the indicator sits stays."""
    old = known.rig if isinstance(known.rig, dict) else {}
    more = {key: value for key, value in old.items() if key not in ("rig", "stations")}
    if not more:
        return rig
    return {**more, **(rig if isinstance(rig, dict) else {"rig": rig} if rig else {})}


def rigs_of(shop: Path) -> list[str]:
    """Names of the rigs that were measured."""
    return sorted(path.stem for path in (shop / FOLDER).glob("*.toml"))
