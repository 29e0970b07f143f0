"""Watching a line: whether the dial is steady, and what goes wrong without a bad line."""
