"""``python -m loomwright``: the command line where its script is not on the PATH."""

from .cli import main

if __name__ == "__main__":
    main()
