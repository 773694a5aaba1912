"""`python -m fleetlib` is the same as the `fleetlib` command."""

from fleetlib.cli import main

if __name__ == "__main__":
    raise SystemExit(main())
