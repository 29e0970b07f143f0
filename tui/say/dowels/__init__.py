"""Dowels to choose and to set."""
