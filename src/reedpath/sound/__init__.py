"""Sound: the reed voice, click, mix and MIDI. Knows nothing of pages."""
