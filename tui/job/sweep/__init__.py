"""A sweep in progress, without a screen."""
