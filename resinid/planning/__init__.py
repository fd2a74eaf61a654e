"""What to do next: the most telling test, when to stop, and a ladder of baths."""
