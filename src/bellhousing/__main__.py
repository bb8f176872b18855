"""`python -m bellhousing`."""

from __future__ import annotations

from bellhousing.cli.main import main

if __name__ == "__main__":
    main()
