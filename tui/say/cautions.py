"""What can hurt somebody, and the order of the job. Shown before a first sweep and on request."""

from typing import Final

CAUTIONS: Final = [
    "Isolate the battery and the ignition: an engine that is turned by hand must not start.",
    "Vehicle and gearbox (transmission) rest on stands, never on a jack alone.",
    "Penetrating oil burns: no torch near a soaked part, ventilate, extinguisher at hand.",
    "Heat can harm seals and hardened parts.",
    "Keep fingers out of the ring gear and from between housing and block.",
    "Torques and limits: the maker's service data and a qualified mechanic decide; this only measures.",
]
PROCEDURE: Final = [
    "1. Clean block, housing, bore and face; no paint, no burrs; housing bolted up to torque.",
    "2. Dial on the flywheel or crank flange, tip square on the face; push the crank rearward each time.",
    "3. Face first, then bore: shimming the face moves the bore.",
    "4. Dial on the bore; turn the crank to each place that is called out, stop, press space.",
    "5. Back at the first place the dial must read what it read: the closing check.",
    "6. Outside the limit: pull the dowels, fit the offset ones, high sides to the mark, from BEHIND.",
    "7. Sweep again and prove it. Keep both recordings.",
]


def page() -> list[str]:
    """Both, for a page of text."""
    return [
        "CAUTIONS",
        *(f"  ! {line}" for line in CAUTIONS),
        "",
        "THE JOB",
        *(f"  {line}" for line in PROCEDURE),
    ]
