"""What all tests share."""

from hypothesis import settings

# Machines that run the tests are busy: how long one example takes says nothing there.
settings.register_profile("untimed", deadline=None)
settings.load_profile("untimed")
