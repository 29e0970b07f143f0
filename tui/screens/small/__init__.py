"""Boxes and pages that every room of the screens opens: a question, a line to type, text, cautions, keys."""
