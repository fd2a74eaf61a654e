"""Figures; need the extra ``resinid[plot]``, loaded only when one is drawn."""
