"""A hot copper wire turns a flame green where a piece holds chlorine or bromine."""
