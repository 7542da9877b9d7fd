"""Feed: what spraying costs of it, how long it lasts, when it runs short."""
