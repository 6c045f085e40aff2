"""Parts of the benchmark."""
