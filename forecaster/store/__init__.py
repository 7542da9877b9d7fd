"""What the program keeps for good: the log of looks."""
