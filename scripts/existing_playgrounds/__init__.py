"""Places where a town has playgrounds, against chance places of the same town."""
