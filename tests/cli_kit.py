"""What tests of the command line have at hand and leave out."""

from __future__ import annotations

KIT = "table salt, ethanol 96 %v/v, scale 0.1 g, sinker, strip"

BY_HAND = ("spring_back", "cut_face", "rub_smell")
"""Tests of a piece that need no more than hands and a knife."""

BY_EYE = ("transparency", "surface_feel", "drop_sound", "article", "process", "mark", "scratch_fingernail", *BY_HAND)
"""Tests that need nothing at all."""

WITHOUT_BY_EYE = tuple(word for test in BY_EYE for word in ("--without", test))
"""Leave those out."""

LIT = ("--allow", "flammable bath")
