"""``python -m fit`` is the command ``fit``."""

from fit.commands import main

if __name__ == "__main__":
    main()
