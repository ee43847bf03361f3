"""Samples: sound as a value, files in and out, resampling. Knows nothing of music."""
