"""What many sweeps say together."""
