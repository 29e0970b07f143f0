"""Lines: from bytes to readings, and what a line that nobody described holds."""
