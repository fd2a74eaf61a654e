"""Where a chip gives way on a hot plate, and what its melt is like."""
