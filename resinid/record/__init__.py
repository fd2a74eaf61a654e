"""The workshop's own record: one file of pieces, bags, plans and slabs, what became of them, and what that teaches."""
