"""Where weather comes from; one file per source."""
