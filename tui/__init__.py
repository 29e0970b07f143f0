"""Everything a person meets: command line, screens, plain text."""

__version__ = "0.2.0"
SCHEMA = "coaxly/1"
