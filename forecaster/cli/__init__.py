"""The commands; each a short file."""
