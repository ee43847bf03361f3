"""Jobs: one function per whole job, and the atomic folder writer. Not told how it was asked."""
