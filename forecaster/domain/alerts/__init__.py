"""Which changes of a window are worth a message, and when it may be sent."""
