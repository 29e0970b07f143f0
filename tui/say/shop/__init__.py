"""What a shop has learned."""
