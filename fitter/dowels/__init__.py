"""What to do about it: kits, pairs of dowels, plans, and the proof of what was done."""
