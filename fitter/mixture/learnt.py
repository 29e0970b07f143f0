"""What sweeps tell of the sizes that nobody knows beforehand: the shares of a shop's own scatter and form.

Each sweep has an opinion of how large its scatter was, spread over the sizes of the grid; a shop's shares are
those under which the opinions of all its sweeps are likeliest, beside some sweeps' worth of what is usual
(the largest posterior of shares under a Dirichlet distribution, by expectation and maximisation: A. P.
Dempster, N. M. Laird, D. B. Rubin, J. R. Statist. Soc. B 39 (1977) 1-38; from memory).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from ..numeric.basis import Floats
from .answer import Mixture
from .priors import Sizes

WORTH: Final = 4.0
"""Sweeps, of form housings, that what is usual is worth beside a shop's own (a judgement, no source)."""

_ROUNDS: Final = 60


@dataclass(frozen=True, slots=True)
class Opinion:
    """How likely each size of the grid is, as a model has it: of scatter, of the oval, of the other lobes."""

    noise: Floats
    oval: Floats
    rest: Floats


def opinion(model: Mixture) -> Opinion:
    """What a sweep, or several of one surface, say of their sizes."""
    priors = model.known.priors
    oval, rest, noise = len(priors.oval), len(priors.rest), len(model.grid.noise)
    node = np.bincount(model.parts.node, model.weight, noise * len(model.grid.variances))
    table = node.reshape(oval, rest, -1, noise)
    # Scatters that were too large to be looked at are next to impossible.
    scatter = np.pad(table.sum(axis=(0, 1, 2)), (0, len(priors.noise) - noise))
    return Opinion(scatter, table.sum(axis=(1, 2, 3)), table.sum(axis=(0, 2, 3)))


def learnt(usual: Sizes, opinions: Sequence[Floats], counts: Sequence[float]) -> Sizes:
    """The sizes with their shares in a shop.

    opinions: of each sweep, reached with the usual shares. counts: as how many sweeps each counts.
    """
    before = np.array([share for _, share in usual])
    before = before / before.sum()
    told, count = np.array(opinions) / before, np.array(counts)
    shares = before
    for _ in range(_ROUNDS):
        each = told * shares
        each = each / each.sum(axis=1, keepdims=True)
        shares = (WORTH * before + count @ each) / (WORTH + count.sum())
    return tuple((size, float(share)) for (size, _), share in zip(usual, shares, strict=True))
