"""A sweep as it is asked for on a screen: values, not words of a command line."""

from dataclasses import dataclass


@dataclass(frozen=True)
class SweepRequest:
    """port: device or URL. profile: name or file. unit: of the dial, "mm" or "in". What is not said here is
    as the command line has it by default."""

    port: str
    profile: str
    unit: str
    job: str
    stage: str
    feature: str
