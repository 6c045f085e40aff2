"""How far things are, from shapes and graphs alone: shapes in, series out."""
