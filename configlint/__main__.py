"""Starts the command line as `python -m configlint`."""

from configlint.commands import main

if __name__ == "__main__":
    main()
