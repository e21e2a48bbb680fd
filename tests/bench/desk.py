"""A desk under load: 30 people browsing a book of ten thousand orders while 10 send large files,
which are examined meanwhile; then one file of 500 MB.

`PREPCHECK_BENCH_MB` makes the ten files smaller (100 MB each), where the machine has other work.
"""

from __future__ import annotations

import http.client
import os
import random
import re
import signal
import subprocess
import sys
import tempfile
import threading
import time
from collections import defaultdict
from pathlib import Path
from urllib.parse import urlencode

from prepcheck.book.access import Access
from prepcheck.book.book import open_book
from prepcheck.book.orders import NewOrder
from prepcheck.book.records import Role
from prepcheck.desk.passwords import hashed
from prepcheck.order import OrderPart
from tests.bench.books import fill
from tests.bench.table import Bench
from tests.book.orders import new_order
from tests.factories import Pdf, Stream

PEOPLE, SENDERS = 30, 10
THINK = 1.0
"""Mean seconds that a person looks at a page."""
LARGE_MB = 500
ALONE = 15
"""Times that each page is asked for alone."""
NAME, PASSWORD = "Ada Fenn", "seven swans a-swimming"
PAGES = {
    "board": "/", "board, later page": "/?page=40", "search": "/?find=TRL+0{n}",
    "order": "/order/{o}", "specs": "/specs",
}  # fmt: skip


class Browser:
    """Somebody who is logged in, on one connection."""

    def __init__(self, port: int, cookie: str) -> None:
        self.port, self.cookie = port, cookie
        self.connection = http.client.HTTPConnection("127.0.0.1", port, timeout=300)

    def get(self, path: str) -> tuple[int, bytes]:
        self.connection.request("GET", path, headers={"Cookie": self.cookie})
        answer = self.connection.getresponse()
        return answer.status, answer.read()

    def send(self, order: str, name: str, data: bytes, secret: str) -> int:
        """Send a file in pieces, as a browser does."""
        head = (
            f'--X\r\nContent-Disposition: form-data; name="secret"\r\n\r\n{secret}\r\n--X\r\n'
            f'Content-Disposition: form-data; name="order"\r\n\r\n{order}\r\n--X\r\n'
            f'Content-Disposition: form-data; name="files"; filename="{name}"\r\n\r\n'
        ).encode()
        tail = b"\r\n--X--\r\n"
        out = self.connection
        out.putrequest("POST", "/drop")
        out.putheader("Content-Type", "multipart/form-data; boundary=X")
        out.putheader("Content-Length", str(len(head) + len(data) + len(tail)))
        out.putheader("Cookie", self.cookie)
        out.endheaders()
        out.send(head)
        view = memoryview(data)
        for start in range(0, len(data), 1 << 18):
            out.send(view[start : start + (1 << 18)])
        out.send(tail)
        answer = out.getresponse()
        answer.read()
        return answer.status


def desk(bench: Bench) -> None:
    """Print how quick pages are under load, what failed, and the memory of the desk itself."""
    megabytes = int(os.environ.get("PREPCHECK_BENCH_MB", "100"))
    where = bench.folder / "desk-book"
    book = open_book(where)
    fill(book)
    numbers = [line.number for line in book.orders(most=400)]
    for number in numbers:  # an order that was entered by steps has this
        book.note("bench", "entered", number, {})
    label = OrderPart(name="Label A", file="label-a.pdf", side="A")
    for index in range(SENDERS + 1):
        book.enter(NewOrder(new_order(f"LOAD-{index}").head, (label,)), "bench")
    senders = {f"LOAD-{index}" for index in range(SENDERS)}
    Access(book).set_password(NAME, Role.ADMIN, hashed(PASSWORD), "bench")
    command = [sys.executable, "-m", "prepcheck", "desk", "--port", "0", "--book", str(where)]
    with tempfile.TemporaryFile() as said:
        served = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=said, text=True)
        try:
            assert served.stdout is not None
            port = int(re.findall(r":(\d+)/", served.stdout.readline())[0])
            _loaded(bench, served.pid, port, numbers, megabytes)
            left = len({name for _, name, _ in book.unfinished()} & senders)
            print(f"deliveries that were not examined by then: {left}")
        finally:
            served.send_signal(signal.SIGTERM)
            served.wait(60)
        said.seek(0)
        print(f"lines on standard error: {len(said.read().splitlines())}")
    book.close()


def _loaded(bench: Bench, process: int, port: int, numbers: list[str], megabytes: int) -> None:
    print(f"\n{PEOPLE} people browsing, {SENDERS} sending {megabytes} MB each\n")
    cookie, secret = _logged_in(port)
    began = time.perf_counter()
    status, _ = Browser(port, cookie).get("/")
    print(f"first page after the start: {1000 * (time.perf_counter() - began):.0f} ms ({status})")
    print(f"memory of the desk at rest: {_memory(process):.0f} MB")
    _alone(bench, process, Browser(port, cookie), numbers)
    over = threading.Event()
    times: dict[str, list[float]] = defaultdict(list)
    wrong: list[str] = []
    people = [
        threading.Thread(target=_browse, args=(port, cookie, numbers, index, over, times, wrong))
        for index in range(PEOPLE)
    ]
    sent: list[float] = []
    data = _art(megabytes)
    senders = [
        threading.Thread(
            target=_send, args=(port, cookie, secret, f"LOAD-{index}", data, sent, wrong)
        )
        for index in range(SENDERS)
    ]
    spent = _processor()
    began = time.perf_counter()
    for thread in (*people, *senders):
        thread.start()
    for thread in senders:
        thread.join()
    took = time.perf_counter() - began
    time.sleep(max(0.0, 45 - took))  # examinations go on meanwhile
    over.set()
    for thread in people:
        thread.join()
    wall = time.perf_counter() - began
    print(f"{'':24}{'asked':>8}{'median ms':>12}{'p95 ms':>10}{'worst ms':>10}")
    for name, found in [*times.items(), ("all pages", [t for one in times.values() for t in one])]:
        found = sorted(found)
        middle, late = found[len(found) // 2], found[min(len(found) - 1, int(len(found) * 0.95))]
        bench.keep(f"the desk, {name}", median_s=middle, p95_s=late)
        print(
            f"{name:24}{len(found):8}{1000 * middle:12.0f}{1000 * late:10.0f}"
            f"{1000 * found[-1]:10.0f}"
        )
    print(f"errors: {len(wrong)} {wrong[:3]}")
    print(f"sending took {took:.1f} s wall, the slowest {max(sent, default=0):.1f} s")
    busy = (_processor() - spent) / ((os.cpu_count() or 1) * wall)
    print(f"the machine was busy to {100 * busy:.0f} %, others' work on it included")
    print(f"greatest memory of the desk without its workers: {_memory(process):.0f} MB")
    before = _memory(process)
    began = time.perf_counter()
    status = Browser(port, cookie).send(f"LOAD-{SENDERS}", "l.pdf", _art(LARGE_MB), secret)
    print(
        f"one file of {LARGE_MB} MB: {time.perf_counter() - began:.1f} s wall ({status}), "
        f"greatest memory {before:.0f} MB before and {_memory(process):.0f} MB after"
    )


def _alone(bench: Bench, process: int, browser: Browser, numbers: list[str]) -> None:
    """Print what each page costs the desk where nobody else asks."""
    for name, path in PAGES.items():
        browser.get(path.format(o=numbers[0], n=11))
        began, spent = time.perf_counter(), _spent(process)
        for index in range(ALONE):
            status, _ = browser.get(path.format(o=numbers[index], n=10 + index))
            assert status == 200, path
        wall = 1000 * (time.perf_counter() - began) / ALONE
        cost = 1000 * (_spent(process) - spent) / ALONE
        bench.keep(f"the desk, {name}, alone", wall_ms=wall, cpu_ms=cost)
        print(f"{name + ', alone':24}{wall:8.0f} ms wall, {cost:.0f} ms of processor")


def _spent(process: int) -> float:
    """Return the seconds of processor time that a process has spent so far (Linux)."""
    try:
        fields = Path(f"/proc/{process}/stat").read_text().rpartition(")")[2].split()
    except OSError:
        return float("nan")
    return (int(fields[11]) + int(fields[12])) / float(os.sysconf("SC_CLK_TCK"))


def _logged_in(port: int) -> tuple[str, str]:
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=60)
    connection.request("GET", "/login")
    answer = connection.getresponse()
    entry = (answer.getheader("set-cookie") or "").partition(";")[0]
    answer.read()
    form = {"name": NAME, "password": PASSWORD, "entry": entry.partition("=")[2], "then": "/"}
    kind = {"Content-Type": "application/x-www-form-urlencoded", "Cookie": entry}
    connection.request("POST", "/login", urlencode(form), kind)
    answer = connection.getresponse()
    answer.read()
    cookie = (answer.getheader("set-cookie") or "").partition(";")[0]
    _, page = Browser(port, cookie).get("/specs")
    return cookie, re.findall(rb'name="secret" value="([0-9a-f]{64})"', page)[0].decode()


def _browse(
    port: int,
    cookie: str,
    numbers: list[str],
    index: int,
    over: threading.Event,
    times: dict[str, list[float]],
    wrong: list[str],
) -> None:
    chance = random.Random(index)
    browser = Browser(port, cookie)
    while not over.wait(chance.expovariate(1 / THINK)):
        name, path = chance.choice([*PAGES.items()])
        path = path.format(o=chance.choice(numbers), n=chance.randrange(10, 99))
        began = time.perf_counter()
        try:
            status, page = browser.get(path)
        except (OSError, http.client.HTTPException) as error:
            wrong.append(f"{path}: {error!r}")
            browser = Browser(port, cookie)
            continue
        times[name].append(time.perf_counter() - began)
        if status != 200 or b"</main>" not in page:
            wrong.append(f"{path}: {status}")


def _send(
    port: int,
    cookie: str,
    secret: str,
    order: str,
    data: bytes,
    sent: list[float],
    wrong: list[str],
) -> None:
    began = time.perf_counter()
    own = data + f"\n%{order}\n".encode()  # no two files are one
    try:
        status = Browser(port, cookie).send(order, "label-a.pdf", own, secret)
    except (OSError, http.client.HTTPException) as error:
        wrong.append(f"{order}: {error!r}")
        return
    sent.append(time.perf_counter() - began)
    if status != 303:
        wrong.append(f"{order}: {status}")


def _art(megabytes: int) -> bytes:
    """Return a label that carries so many MB which nothing shows."""
    pdf = Pdf()
    pdf.add(Stream(os.urandom(1 << 20) * megabytes, {}))
    pdf.page("0 0 0 0.4 k 0 0 106 106 re f", (106, 106))
    return pdf.bytes()


def _memory(process: int) -> float:
    """Return the greatest memory that a process has had so far, in MB (Linux)."""
    try:
        text = Path(f"/proc/{process}/status").read_text()
    except OSError:
        return float("nan")
    return int(re.findall(r"VmHWM:\s+(\d+) kB", text)[0]) / 1000


def _processor() -> float:
    """Return the seconds that all processors have been busy so far (Linux)."""
    try:
        fields = Path("/proc/stat").read_text().split("\n", 1)[0].split()[1:9]
    except OSError:
        return float("nan")
    idle = int(fields[3]) + int(fields[4])
    return (sum(map(int, fields)) - idle) / float(os.sysconf("SC_CLK_TCK"))
