"""Run the command as ``python -m playsite``."""

from playsite.cli import main

main()
