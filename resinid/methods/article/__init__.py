"""What kind of article a piece is from, and how it was made."""

from resinid.methods.article.method import METHOD

__all__ = ["METHOD"]
