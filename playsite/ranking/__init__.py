"""From measurements to scores and ranks."""
