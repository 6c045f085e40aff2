"""The made-up town of the demo: its plan, ground, lots, ways, and what is true of it by construction."""
