"""Recordings: what is written of a session, read again, sealed and signed."""
