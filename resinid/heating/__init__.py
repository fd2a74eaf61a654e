"""Whether a piece may be heated, and between which temperatures each resin is melted."""
