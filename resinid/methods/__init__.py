"""Methods: kinds of evidence, each one file and one object."""
