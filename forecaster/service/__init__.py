"""The daily line, and what wires it together."""
