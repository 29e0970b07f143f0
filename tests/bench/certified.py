"""Digits agreed with certified data sets (log relative error, 15 at most).

python tests/bench/certified.py
"""

import runpy
from pathlib import Path


def main() -> None:
    """Print the table; the arithmetic is that of the test."""
    checks = runpy.run_path(str(Path(__file__).parent.parent / "fitter" / "numeric" / "test_certified.py"))
    digits, ratio = checks["digits"], checks["ratio"]
    for name in ("norris", "longley"):
        print(f"{name:<9}" + "  ".join(f"{key} {digits(v, c):.1f}" for key, v, c in checks[name]()))
    for k in range(1, 10):
        groups, certified = checks["simulated"](k)
        print(f"SmLs0{k}   F {digits(ratio(groups), certified):.1f}")
    for name, certified in (("SiRstv", 1.18046237440255), ("AtmWtAg", 15.9467335677930)):
        print(f"{name:<9}F {digits(ratio(checks['groups_of'](name)), certified):.1f}")


if __name__ == "__main__":
    main()
