"""The jobs of a shop, the pages between two sweeps of one, and the flows that open them in their order."""
