"""A boom: how high, how much through each nozzle, how many tanks."""
