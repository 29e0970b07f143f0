"""Which Coaxly this is, and which shape its objects of `--json` have."""

__version__ = "0.2.0"
SCHEMA = "coaxly/1"
