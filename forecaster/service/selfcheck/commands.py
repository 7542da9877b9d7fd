"""Programs of the system, asked for a word; never through a shell."""

from __future__ import annotations

import os
import shutil
import subprocess

LIMIT_S = 5.0
LONGEST = 1_000_000
"""Characters of an answer that are looked at."""


def answer_of(program: str, *arguments: str) -> str | None:
    """What a program prints; None where there is none, it fails or takes too long."""
    path = shutil.which(program)
    if path is None:
        return None
    try:
        done = subprocess.run(  # noqa: S603 - a list of arguments, no shell
            [path, *arguments],
            stdin=subprocess.DEVNULL,
            capture_output=True,
            timeout=LIMIT_S,
            check=False,
            env={**os.environ, "LC_ALL": "C"},
        )
    except (OSError, subprocess.SubprocessError):
        return None
    if done.returncode != 0:
        return None
    return done.stdout.decode("utf-8", "replace")[:LONGEST]
