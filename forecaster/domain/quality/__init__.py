"""Values no sensor can have measured: found, marked and taken out of the table."""
