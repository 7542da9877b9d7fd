"""Stage windows crossed with blocks: what to do now."""
