"""Many recordings and jobs at once."""
