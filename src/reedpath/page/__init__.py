"""Pages: tab text, ribbon, chart, score, engraving, hand-out. Knows nothing of sound."""
