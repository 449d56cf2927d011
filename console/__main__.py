"""Runs the program as ``python -m console``."""

from console.cli.main import main

if __name__ == "__main__":
    raise SystemExit(main())
