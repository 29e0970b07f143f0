"""Angles: where the contact point was when a reading was taken."""
