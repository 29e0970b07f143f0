"""The distance to a round wall along a ray, exactly: a check on formulas that are of first order."""

import numpy as np


def to_circle(off, deg, radius):
    """From where one stands, towards `deg` (clockwise from 12), to a circle about `off` (x right, y up)."""
    rad = np.deg2rad(deg)
    along, across = off[0] * np.sin(rad) + off[1] * np.cos(rad), off[0] * np.cos(rad) - off[1] * np.sin(rad)
    return along + np.sqrt(radius**2 - across**2)
