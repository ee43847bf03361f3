"""Tab as text: a lesson in a monospace face, tab aligned under counted beats, and such a text read back."""
