"""What people get to see: map, memo, tables. Each reads the `Result` and nothing else."""
