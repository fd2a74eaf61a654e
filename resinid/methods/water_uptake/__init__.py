"""How much water a piece takes up in a day."""
