"""Wording: message catalogues, the one place that names a move in words."""
