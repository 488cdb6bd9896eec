"""``python -m takeoff``: the same as the command ``takeoff``."""

from takeoff.cli import main

main()
