"""What kind of article a piece is from, and how it was made."""
