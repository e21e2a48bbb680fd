"""Parts examined on the machines of a dask.distributed cluster (extra `cluster`).

What goes there is a parcel and a file's bytes, what comes back a reply, all read by their types;
the function itself dask names by where it stands (`on_cluster`).
"""

from __future__ import annotations

import asyncio
import json
import logging
import socket
import time
import uuid
from collections import deque
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, cast

import dask
from distributed import CancelledError, Client, Future, wait
from distributed.comm.addressing import parse_host_port
from distributed.scheduler import KilledWorker
from distributed.security import Security

from prepcheck.errors import ClusterError, PrepcheckError, UsageError, said_by
from prepcheck.run.answer import Answer, Task
from prepcheck.run.executor import LocalWorkers
from prepcheck.run.message import Failed, MessageError, unpacked
from prepcheck.run.on_cluster import ALLOWED_LOSSES, LOST_TWICE, examine_sent
from prepcheck.run.parcel import failed, parcel_of, reply_of
from prepcheck.run.worker import Ended

_SCHEMES = ("tcp://", "tls://")
_CONNECT_SECONDS = 10.0
_REPLY_SECONDS = 20.0
"""How long a scheduler may take to answer the first time: dask itself would wait for ever."""
_LOOK_SECONDS = 0.5
_NOBODY_SECONDS = 60.0
"""How long a cluster may be without any worker while parts wait for one."""
_AHEAD = 2
"""Parts that are sent for each thread of the workers: one to do, one to go on with."""
_MOST_SENT_BYTES = 512 << 20
"""Bytes of files that may be under way, however many machines there are."""
_MOST_TRIES = 8
"""How often a part is sent anew after workers were lost that were not at it."""


_FAILED = "prepcheck itself failed on it (on two machines)"


@dataclass(slots=True, eq=False)
class _Sent:
    """A task under way: the future of its reply, and how often it was sent and lost."""

    task: Task
    counter: str
    future: Future[bytes]
    size: int
    tries: int = 1
    losses: int = 0


@dataclass(eq=False)
class Cluster:
    """An executor: the workers of a scheduler. What cannot be sent is examined here, `jobs` at a
    time. Made by `connected`."""

    address: str
    shared: bool
    jobs: int
    client: Client
    nobody_seconds: float = _NOBODY_SECONDS
    _foreseen: dict[tuple[Path, str, int | None], _Sent] = field(default_factory=dict)
    _run: str = field(default_factory=lambda: uuid.uuid4().hex)
    _count: int = 0
    _threads: tuple[float, int] = (0.0, 0)
    _seen: float = 0.0

    def ended(
        self,
        tasks: Sequence[Task],
        *,
        started: Callable[[int], None],
        meanwhile: Callable[[], object],
        coming: Iterable[Task] = (),
    ) -> Iterator[Ended[Answer]]:
        """Yield what came of each task as it comes; see `Executor`.

        Raises ClusterError where the cluster is gone or its machines are not fit for it.
        """
        self._connect()
        waiting, later = deque(enumerate(tasks)), iter(coming)
        running: dict[int, _Sent] = {}
        here: list[int] = []
        idle = True
        self._seen = time.monotonic()
        try:
            while waiting or running:
                while waiting and self._has_room(running):
                    index, task = waiting.popleft()
                    started(index)
                    sent = self._sent(task)
                    if sent is None:
                        here.append(index)
                    else:
                        running[index] = sent
                if not waiting:
                    self._foresee(later, running)
                if idle:
                    idle = False
                    meanwhile()
                yield from self._ended(running)
            yield from self._here([tasks[index] for index in here], here)
        finally:
            self._drop(running.values())

    def close(self) -> None:
        """Give up what is under way and let go of the scheduler."""
        self._drop(self._foreseen.values())
        self._foreseen.clear()
        scheduler = self.client.scheduler
        with suppress(Exception):  # it may be gone itself, or answer no more
            if scheduler is not None:
                self.client.sync(
                    scheduler.set_metadata, keys=["prepcheck", self._run], value={},
                    callback_timeout=_CONNECT_SECONDS,
                )  # fmt: skip
        with suppress(TimeoutError):
            self.client.close(timeout=5)

    def _connect(self) -> None:
        """Connect again where the scheduler was gone for a while."""
        if self.client.status not in ("running", "connecting"):
            self._foreseen.clear()
            with suppress(Exception):
                self.client.close(timeout=1)
            self.client = _client(self.address, ClusterError)

    def _has_room(self, running: dict[int, _Sent]) -> bool:
        under_way = [*running.values(), *self._foreseen.values()]
        if len(under_way) >= max(1, _AHEAD * self._all_threads()):
            # What was foreseen may be waited for behind parts of this very order.
            return len(running) < 1
        return sum(sent.size for sent in under_way) < _MOST_SENT_BYTES or not running

    def _all_threads(self) -> int:
        """Return how many parts the workers do at a time; asked anew now and then."""
        now, (when, count) = time.monotonic(), self._threads
        if not count or now - when > 5.0:
            with self._reached():
                known = self.client.nthreads(callback_timeout=self.nobody_seconds)
                count = sum(known.values())
            self._threads = now, count
        if count:
            self._seen = now
        return count

    @contextmanager
    def _reached(self) -> Iterator[None]:
        """Turn what is raised where the scheduler is gone into one line."""
        try:
            yield
        except (OSError, TimeoutError, RuntimeError, AttributeError) as error:
            raise ClusterError(
                f"{self.address}: the scheduler is gone; see that it runs, and try again"
            ) from error

    def _sent(self, task: Task) -> _Sent | None:
        """Send a task, or take up one that was sent ahead; None where it must be done here."""
        foreseen = self._foreseen.pop(_place_of(task), None)
        if foreseen is not None:
            if foreseen.task == task:
                return foreseen
            self._drop([foreseen])
        packed = parcel_of(task, shared=self.shared)
        if packed is None:
            return None
        self._count += 1
        parcel, content = packed
        counter = f"{self._run}-{self._count}"
        size = len(parcel) + (0 if content is None else len(content))
        future = self._submitted(parcel, content, counter, 1)
        return _Sent(task, counter, future, size)

    def _submitted(
        self, parcel: bytes, content: bytes | None, counter: str, tries: int
    ) -> Future[bytes]:
        # Files are large beside what else dask is sent, and that is meant.
        quiet = {"distributed.admin.large-graph-warning-threshold": "1 TB"}
        with self._reached(), dask.config.set(quiet):
            return self.client.submit(
                examine_sent, parcel, content, self._run, counter,
                key=f"prepcheck-{counter}-{tries}", pure=False,
            )  # fmt: skip

    def _foresee(self, later: Iterator[Task], running: dict[int, _Sent]) -> None:
        """Send what is coming, where there is room."""
        while self._has_room(running) and running:
            task = next(later, None)
            if task is None:
                return
            if _place_of(task) not in self._foreseen:
                sent = self._sent(task)
                if sent is not None:
                    self._foreseen[_place_of(task)] = sent

    def _ended(self, running: dict[int, _Sent]) -> Iterator[Ended[Answer]]:
        """Yield what has ended; waits for a moment where nothing has."""
        over = {index: sent for index, sent in running.items() if sent.future.status != "pending"}
        if not over:
            futures = [sent.future for sent in running.values()]
            with suppress(TimeoutError, CancelledError), self.client.as_current():
                wait(futures, timeout=_LOOK_SECONDS, return_when="FIRST_COMPLETED")
            self._refuse_nobody(running)
        for index, sent in over.items():
            answer = self._answer(sent)
            if answer is not None:
                del running[index]
                self._drop([sent])
                yield Ended(index, answer)

    def _answer(self, sent: _Sent) -> Answer | Failed | None:
        """Return what came of a part; None where it is sent anew."""
        status = sent.future.status
        if status == "finished":
            with self._reached():
                data = sent.future.result(timeout=_CONNECT_SECONDS)
            return self._unpacked(sent, data)
        error = sent.future.exception(timeout=_CONNECT_SECONDS) if status == "error" else None
        if isinstance(error, ImportError):
            raise ClusterError(
                f"{self.address}: a worker cannot examine parts: {said_by(error)}; install "
                "'prepcheck[cluster]' on every machine"
            )
        if error is None and self.client.status != "running":
            raise ClusterError(
                f"{self.address}: the scheduler is gone; see that it runs, and try again"
            )
        # Scheduler and worker count differently: here only those count that had begun the part.
        if error is not None and not isinstance(error, KilledWorker):
            sent.losses += 1
            if sent.losses >= ALLOWED_LOSSES:
                return failed(f"{_FAILED}: {said_by(error)}")
        if sent.tries >= _MOST_TRIES:
            return failed(LOST_TWICE)
        packed = parcel_of(sent.task, shared=self.shared)
        if packed is None:
            return failed("its file was gone before it could be sent a second time")
        sent.tries += 1
        sent.future = self._submitted(*packed, sent.counter, sent.tries)
        return None

    def _unpacked(self, sent: _Sent, data: bytes) -> Answer | Failed:
        reply = reply_of(data)
        if reply.refused is not None:
            raise ClusterError(f"{self.address}: a worker refuses a part: {reply.refused.why}")
        try:
            return unpacked(reply.answer, Answer)
        except MessageError as error:
            return failed(f"prepcheck itself failed on it (its reply cannot be read: {error})")

    def _refuse_nobody(self, running: dict[int, _Sent]) -> None:
        """Raise ClusterError where parts have waited long and no worker is there."""
        if not self._all_threads() and time.monotonic() - self._seen > self.nobody_seconds:
            raise ClusterError(
                f"{self.address}: the scheduler has no worker; start some with `dask worker`, "
                "and try again"
            )

    def _here(self, tasks: Sequence[Task], places: Sequence[int]) -> Iterator[Ended[Answer]]:
        if not tasks:
            return
        own = LocalWorkers(self.jobs).ended(
            tasks, started=lambda index: None, meanwhile=lambda: None
        )
        for end in own:
            yield Ended(places[end.index], end.answer)

    def _drop(self, several: Iterable[_Sent]) -> None:
        """Let go of parts: those under way are given up by their workers."""
        futures = [sent.future for sent in several]
        open_ones = [future for future in futures if future.status == "pending"]
        if open_ones:
            with suppress(Exception):  # the scheduler may be gone
                self.client.cancel(open_ones, force=True)
        for future in futures:
            future.release()


def dask_says_nothing() -> None:
    """Keep dask from telling on stderr what is told here in one line."""
    for name in ("distributed", "distributed.client"):
        logging.getLogger(name).setLevel(logging.CRITICAL + 1)


@contextmanager
def connected(
    address: str,
    *,
    shared: bool = False,
    jobs: int = 1,
    nobody_seconds: float = _NOBODY_SECONDS,
    reply_seconds: float = _REPLY_SECONDS,
) -> Iterator[Cluster]:
    """Give an executor that has parts examined by the workers of a scheduler.

    `address` is tcp://HOST:PORT, tls://HOST:PORT (keys as dask is configured), or the path of a
    scheduler file. With `shared` files are read by the workers from the paths that they have
    here; else their bytes are sent. Raises UsageError where nothing answers there within
    `reply_seconds`.
    """
    client = _client(address, UsageError, reply_seconds)
    cluster = Cluster(address, shared, jobs, client, nobody_seconds)
    try:
        yield cluster
    finally:
        cluster.close()


def _refuse_no_keys(address: str, wrong: type[PrepcheckError]) -> None:
    if Security().get_connection_args("client").get("ssl_context") is None:
        raise wrong(
            f"{address}: dask is configured without keys for TLS; give it CA_FILE, CLIENT__CERT "
            "and CLIENT__KEY, each under DASK_DISTRIBUTED__COMM__TLS__ in the environment"
        )


def _connection(where: str, seconds: float) -> Client:
    """Return a client whose scheduler has answered; raises TimeoutError where it does not."""

    async def start(client: Any, timeout: float) -> object:
        try:
            return await asyncio.wait_for(Client._start(client, timeout=timeout), seconds)
        except TimeoutError:
            await client._close(fast=True)
            raise

    # One that never came about has nothing to close, and dask would try that for long.
    own = {"__del__": lambda self: None, "_start": start}
    kind = cast("type[Client]", type("_Connection", (Client,), own))
    return kind(where, timeout=_CONNECT_SECONDS, set_as_default=False, name="prepcheck")


def _client(
    address: str, wrong: type[PrepcheckError], reply_seconds: float = _REPLY_SECONDS
) -> Client:
    """Return a connection to a scheduler; raises what is `wrong` where none answers."""
    where = address
    try:
        if not address.startswith(_SCHEMES):
            if "://" in address or not Path(address).is_file():
                raise wrong(
                    f"{address}: no scheduler; write tcp://HOST:8786, tls://HOST:8786 or the path "
                    "of a scheduler file that is there"
                )
            where = json.loads(Path(address).read_text("utf-8"))["address"]
        host, port = parse_host_port(where.partition("://")[2])
        # Dask tries for long where nobody listens.
        socket.create_connection((host, port), timeout=_CONNECT_SECONDS).close()
        if where.startswith("tls://"):
            _refuse_no_keys(address, wrong)
        try:
            return _connection(where, reply_seconds)
        except TimeoutError:
            raise wrong(
                f"{address}: something listens there and does not answer as a scheduler does; see "
                "that it runs, and that the address is right"
            ) from None
    except PrepcheckError:
        raise
    except Exception as error:  # of many kinds: sockets, certificates, files, addresses
        why = getattr(error, "strerror", None) or said_by(error).rstrip(".")
        raise wrong(
            f"{address}: no scheduler can be reached there ({why}); see that it runs, and that "
            "the address is right"
        ) from None


def _place_of(task: Task) -> tuple[Path, str, int | None]:
    return task.path, task.name, task.page
