"""From a phrase born on another instrument to a playable, teachable harmonica lesson."""

__version__ = "0.1.0"
