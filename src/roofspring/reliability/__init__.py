"""reliability."""
