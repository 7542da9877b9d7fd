"""Ways to tell somebody."""
