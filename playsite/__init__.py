"""Where should the playground go, and can we defend it: a toolkit on real map data."""
