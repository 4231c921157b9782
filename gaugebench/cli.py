"""The command line, thin: it asks the rooms below and prints."""

from __future__ import annotations


def main() -> None:
    """Entry point of the `gaugebench` command."""
