"""Which dial: the one of last time, or one that is looked for."""
