"""Arranging: from a phrase and a harp to the best route. Knows nothing of files or lessons."""

from reedpath.arrange.route import Change, ChangeKind, Choice, Effort, Route, RouteEvent, Spot

__all__ = ["Change", "ChangeKind", "Choice", "Effort", "Route", "RouteEvent", "Spot"]
