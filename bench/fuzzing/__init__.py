"""Hostile inputs: what is fed, how it is changed, and what is watched while it is read (bench/fuzz.py)."""
