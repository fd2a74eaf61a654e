"""Whether a fresh cut is solid or full of cells."""
