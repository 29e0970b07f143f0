"""Run tests as another processor would: `python tests/helpers/elsewhere.py [arguments of pytest]`.

Without arguments it runs those that are marked `arithmetic`: what they compare was computed on some other
machine. A vectorised exp, a fused multiply-add or another kernel of the BLAS rounds the last bits
otherwise, so here all three are taken away, as far as this machine has them:

- OpenBLAS works with the kernels of an old processor (other libraries for linear algebra ignore that);
- numpy does without each vector level that it found beyond those it cannot do without;
- the C library does without fused multiply-add and wide vectors (where it is glibc).
"""

import importlib
import os
import subprocess
import sys
from pathlib import Path


def vector_levels() -> list[str]:
    """The levels that numpy chose to use on this machine, by its own names for them."""
    for name in ("numpy._core._multiarray_umath", "numpy.core._multiarray_umath"):
        try:
            core = importlib.import_module(name)
        except ImportError:
            continue
        found = getattr(core, "__cpu_features__", {})
        # Only what is dispatched may be named: numpy warns of the unknown and stops at its baseline.
        return [level for level in getattr(core, "__cpu_dispatch__", []) if found.get(level)]
    return []


def environment() -> dict[str, str]:
    """Ours, with an older arithmetic."""
    other = {
        "OPENBLAS_CORETYPE": "Prescott",
        "GLIBC_TUNABLES": "glibc.cpu.hwcaps=-AVX2,-FMA,-FMA4,-AVX512F,-AVX2_Usable,-FMA_Usable",
    }
    if levels := vector_levels():
        other["NPY_DISABLE_CPU_FEATURES"] = " ".join(levels)
    return {**os.environ, **other}


if __name__ == "__main__":
    chosen = sys.argv[1:] or ["-m", "arithmetic"]
    sys.exit(
        subprocess.run(
            [sys.executable, "-m", "pytest", *chosen], env=environment(), cwd=Path(__file__).parents[2]
        ).returncode
    )
