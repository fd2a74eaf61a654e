"""Whole tables of pieces at the speed of the machine."""
