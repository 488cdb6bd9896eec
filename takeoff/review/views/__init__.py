"""What the page is shown: pure functions from the takeoff to plain tables, one thing to look at in each module."""
