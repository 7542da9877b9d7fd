"""What is decided, as pure functions of arrays and frozen values."""
