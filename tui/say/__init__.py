"""From values to what people read."""
