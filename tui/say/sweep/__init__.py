"""What a sweep says, while it goes on and afterwards."""
