"""Listening: lining a take up with a route, and the answer. Knows nothing of drawing."""
