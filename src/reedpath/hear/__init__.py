"""Hearing: samples to pitch curve to notes and beats. Knows nothing of harps."""
