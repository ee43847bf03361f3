"""The ribbon: our picture of a route over time, hole against beat."""
