"""What is begun in the second thread, for whoever asks for it later."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from concurrent.futures import Executor, Future
from typing import Generic, TypeVar

K = TypeVar("K")
T = TypeVar("T")


class Beforehand(Generic[T]):
    """Something that a pool makes once it has done what it was given before; whoever asks for it
    sooner makes it themselves."""

    def __init__(self, pool: Executor, make: Callable[[], T]) -> None:
        self._make, self._begun = make, pool.submit(make)

    def result(self) -> T:
        """Return it; raises what making it raises."""
        return self._make() if self._begun.cancel() else self._begun.result()


class Foreseen(Generic[K, T]):
    """Things that one thread foresees it will ask for, and another makes meanwhile; what has not
    been begun by then, whoever asks makes themselves."""

    def __init__(self, make: Callable[[K], T]) -> None:
        self._make = make
        self._begun: dict[K, Future[T]] = {}

    def foresee(self, keys: Iterable[K]) -> None:
        """Take note of what will be asked for, in that order."""
        self._begun |= {key: Future() for key in keys}

    def make_all(self) -> None:
        """Make what is foreseen so far and nobody has asked for."""
        for key, begun in [*self._begun.items()]:
            if begun.set_running_or_notify_cancel():
                try:
                    begun.set_result(self._make(key))
                except BaseException as error:  # for whoever asks
                    begun.set_exception(error)

    def result(self, key: K) -> T:
        """Return a thing, and let go of it; raises what making it raises."""
        begun = self._begun.pop(key, None)
        return self._make(key) if begun is None or begun.cancel() else begun.result()
