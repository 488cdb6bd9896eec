"""Takeoffs built by hand, shared by the tests of the documents."""

from __future__ import annotations

import pytest

from takeoff.record import Takeoff
from tests.documents import building


@pytest.fixture(scope="session")
def two_rooms() -> Takeoff:
    return building.takeoff(2)


@pytest.fixture(scope="session")
def four_rooms() -> Takeoff:
    return building.takeoff(4)
