"""Mistakes of the person at the keyboard."""


class UsageError(Exception):
    """Something asked for cannot be done; the text says what, and what to do instead."""
