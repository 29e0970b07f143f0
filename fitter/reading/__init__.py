"""What was read and how it counts: the setup, its corrections, and the table of stations."""
