"""An invented evening, as data: see README.md beside this file."""
