"""``python -m reedpath``: the command line, where its own name is not on the path."""

from reedpath.cli import main

if __name__ == "__main__":
    main()
