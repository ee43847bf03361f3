"""What the two typed tab formats, of guitar and of harmonica, have in common: characters, heading, note lengths."""
