"""The review page: look at a takeoff in a browser on the user's own machine, and correct it there."""
