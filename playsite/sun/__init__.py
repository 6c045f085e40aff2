"""Where the sun stands, what casts shade, and how much of a pad lies in it: pure functions."""
