"""What recordings come to: from their records to a result, live or replayed."""
