"""From bytes on a line to samples and recordings. Knows ports, files and clocks, no statistics."""
