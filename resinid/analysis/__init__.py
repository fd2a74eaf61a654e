"""How well the reference is sourced, and which of its rows move answers most."""
