"""The public call and its answer: observations in, ranked resins out."""
