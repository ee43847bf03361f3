"""The hand-out: one lesson as a printed sheet."""
