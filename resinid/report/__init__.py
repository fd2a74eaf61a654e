"""Answers as people look at them: HTML for notebooks, and the one-page bench sheet."""
