"""What the program keeps: the log of looks, and the state of alerts."""
