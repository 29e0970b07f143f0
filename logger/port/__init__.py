"""Ports: how bytes come from a line, with the times at which they came."""
