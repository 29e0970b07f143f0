"""What can hurt somebody, by the step at which it can, and the order of the job.

General workshop cautions (common practice, no source); the maker's service data come first.
"""

from typing import Final, Literal

Step = Literal["always", "sweep", "dowels", "shims", "nudge"]

BY_STEP: Final[dict[Step, tuple[str, ...]]] = {
    "sweep": (
        "Isolate the battery and the ignition: an engine that is turned by hand must not start.",
        "Plugs out where that is usual; turn the crank only the way the maker allows.",
        "Keep fingers out of the ring gear and from between housing and block.",
        "Housing bolts to the maker's torque before each sweep.",
    ),
    "dowels": (
        "Eye protection when you drive or pull dowels: hardened steel chips.",
        "Penetrating oil burns: no torch near a soaked part, ventilate, extinguisher at hand.",
        "Heat can harm seals and hardened parts.",
        "Never draw the housing home with its bolts: fingers, and the castings.",
    ),
    "shims": (
        "Keep fingers from between housing and block while bolts are slack.",
        "Bolts to the maker's torque again, in the maker's order.",
    ),
    "nudge": (
        "Slacken the bolts until the housing can just be tapped, never out: it is heavy, and falls.",
        "A soft hammer on a strong rib, eye protection; a casting that is struck hard cracks.",
        "Keep fingers from between housing and block, and the other hand off the crank bar.",
        "Bolts to the maker's torque, in the maker's order, with the dial watched.",
    ),
    "always": (
        "Vehicle, engine and gearbox (transmission) rest on stands, never on a jack alone.",
        "Support the engine before the gearbox comes off.",
        "Torques and limits: the maker's service data and a qualified mechanic decide; this only measures.",
    ),
}
HEADS: Final[dict[Step, str]] = {
    "sweep": "TURNING THE ENGINE",
    "dowels": "PULLING AND DRIVING DOWELS",
    "shims": "SHIMS",
    "nudge": "TAPPING THE HOUSING",
    "always": "ALWAYS",
}
SHORT: Final[dict[Step, str]] = {
    "sweep": "battery and ignition off, fingers out, bolts to the maker's torque",
    "dowels": "eye protection; no flame near oil",
    "shims": "fingers out while bolts are slack; then the maker's torque",
    "nudge": "soft hammer, eye protection; fingers out; bolts slack, never out",
    "always": "stands, never a jack alone",
}
PROCEDURE: Final = [
    "1. Clean block, housing, bore and face; no paint, no burrs; housing bolted up to torque.",
    "2. Dial on the flywheel or crank flange, tip square on the face; push the crank rearward each time.",
    "3. Face first, then bore: shimming the face moves the bore.",
    "4. Dial on the bore; turn the crank to each place that is called out, stop, press space.",
    "5. Back at the first place the dial must read what it read: the closing check.",
    "6. Outside the limit: pull the dowels, fit the offset ones, high sides to the mark, from BEHIND.",
    "7. Sweep again and prove it. Keep both recordings.",
]


def cautions(step: Step | None = None) -> list[str]:
    """All of them by step, or those of one step and the ones that always hold."""
    lines: list[str] = []
    for name in BY_STEP if step is None else (step, "always"):
        lines += [HEADS[name], *(f"  ! {line}" for line in BY_STEP[name])]
    return lines
