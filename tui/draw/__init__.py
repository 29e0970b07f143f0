"""Pictures in a terminal: a raster, letters, colours."""
