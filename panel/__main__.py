"""Runs the command line: `python -m panel`."""

from panel.cli import main

main()
