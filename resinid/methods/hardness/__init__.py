"""How hard a piece is: Shore A and Shore D readings, pencil hardness, and whether a fingernail marks it."""
