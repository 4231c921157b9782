"""The command line, thin: it asks the rooms below and prints."""

# Importing a module of commands is what adds them.
from gaugebench.cli import kits, traces, work
from gaugebench.cli.app import main

__all__ = ["kits", "main", "traces", "work"]
