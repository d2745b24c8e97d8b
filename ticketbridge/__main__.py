"""``python -m ticketbridge`` is the same program as ``ticketbridge``."""

from ticketbridge.cli import main

if __name__ == "__main__":
    main()
