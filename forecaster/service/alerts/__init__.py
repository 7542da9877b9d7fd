"""The check: what happened, who has to hear of it, and that they did."""
