"""Text on a terminal, with headings in bold where there is one to show them."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from forecaster.render.text import Line


def show(lines: list[Line]) -> None:
    """Print ``lines``; plain wherever the output is not a terminal."""
    if not sys.stdout.isatty():
        sys.stdout.write("\n".join(line.text for line in lines) + "\n")
        return
    from rich.console import Console
    from rich.text import Text

    console = Console(highlight=False, soft_wrap=True)
    for line in lines:
        console.print(Text(line.text, style="bold" if line.heading else ""))
