"""Rings whenever something changed, in whichever thread: who waits for news is woken."""

from __future__ import annotations

import asyncio
import threading

__all__ = ["Bell"]


class Bell:
    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._rings = 0
        self._waiting: set[tuple[asyncio.AbstractEventLoop, asyncio.Event]] = set()

    @property
    def rings(self) -> int:
        """How often it rang."""
        return self._rings

    def ring(self) -> None:
        with self._lock:
            self._rings += 1
            waiting, self._waiting = self._waiting, set()
        for loop, event in waiting:
            if not loop.is_closed():
                loop.call_soon_threadsafe(event.set)

    async def wait(self, heard: int, seconds: float) -> bool:
        """True as soon as it has rung more or less often than `heard` times; False after `seconds` without."""
        event = asyncio.Event()
        waiter = (asyncio.get_running_loop(), event)
        with self._lock:
            if self._rings != heard:
                return True
            self._waiting.add(waiter)
        try:
            await asyncio.wait_for(event.wait(), seconds)
        except TimeoutError:
            return False
        finally:
            with self._lock:
                self._waiting.discard(waiter)
        return True
