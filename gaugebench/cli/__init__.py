"""The command line, thin: it asks the rooms below and prints."""

# Importing a module of commands is what adds them.
from gaugebench.cli import book, kits, traces, work
from gaugebench.cli.app import main

__all__ = ["book", "kits", "main", "traces", "work"]
