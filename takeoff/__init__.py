"""Price plastering and drylining from an architect's drawing."""

__version__ = "0.1.0"
