"""What a stretched, folded or dented piece does when it is let go."""
