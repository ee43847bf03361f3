"""Readers: one module per source format, bytes to phrase. Knows nothing of arranging."""
