"""Each part of the chain alone, from files to files: one file a step, found by entry point."""
