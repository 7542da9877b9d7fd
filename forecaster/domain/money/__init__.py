"""Money, by the user's own prices alone."""
