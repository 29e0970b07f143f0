"""From what people write to values: lengths, kits, places, preferences."""
