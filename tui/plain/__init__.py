"""Sweeps and questions in plain lines, where there is no screen."""
