"""From stations to a fitted model: drift and knocks, bad stations, harmonics, scatter."""
