"""What is begun in the second thread, for whoever asks for it later."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import Executor
from typing import Generic, TypeVar

T = TypeVar("T")


class Beforehand(Generic[T]):
    """Something that a pool makes once it has done what it was given before; whoever asks for it
    sooner makes it themselves."""

    def __init__(self, pool: Executor, make: Callable[[], T]) -> None:
        self._make, self._begun = make, pool.submit(make)

    def result(self) -> T:
        """Return it; raises what making it raises."""
        return self._make() if self._begun.cancel() else self._begun.result()
