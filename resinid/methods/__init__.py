"""Methods: kinds of evidence, each one folder and one object."""
