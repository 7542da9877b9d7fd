"""The command line: names of commands and nothing else."""

from __future__ import annotations


def run() -> None:
    """Run the program."""
