"""Spot tests with a drop of a solvent: nothing, softening, swelling, dissolving or crazing."""
