"""Whether a chip floats, hovers or sinks in a known liquid."""
