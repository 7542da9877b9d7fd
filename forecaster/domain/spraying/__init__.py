"""Which hours may be sprayed, and why not the others."""
