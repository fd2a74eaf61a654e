"""How a chip burns: ignition, flame, smoke, drips, whether it goes out, and the smell after it."""
