"""What can be told without a tool: see through it, touch it, drop it."""
