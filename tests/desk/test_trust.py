"""Attacks: what nobody gets through with."""

from __future__ import annotations

import io
import re
import zipfile
from datetime import timedelta
from pathlib import Path

import anyio
import pytest
from hypothesis import given
from hypothesis import strategies as st

from prepcheck.book.access import Access
from prepcheck.book.records import Role
from prepcheck.desk.addresses import number_of, step_of
from prepcheck.desk.settings import DeskSettings
from prepcheck.desk.web import saved_as
from prepcheck.proof.theme import Palette
from tests.book.orders import entered
from tests.desk.conftest import Room, Rounds, hidden, secret_of

MARKUP = "<script>alert(1)</script>\"'><img src=x onerror=alert(2)>"
STATIC = Path(__file__).parents[2] / "prepcheck" / "desk" / "static"


PATHS = (
    "/static/../app.py", "/static/%2e%2e/app.py", "/static/..%2fapp.py",
    "/static/x/..%2fapp.py", "/static/x/../app.py", "/static//etc/passwd",
    "/type/../../../etc/passwd.ttf", "/type/DejaVuSans.ttf",
    "/picture/..%2f..%2fbook.key/small.jpg", f"/picture/{'0' * 64}/..%2ffacts.json",
    f"/picture/{'0' * 64}/facts.json", "/picture/../small.jpg", "/order/..%2f..%2fbook.key",
    "/order/~2e~2e~2fbook.key", "/specs/..%2fbase", "/specs/%2fetc%2fpasswd",
    "/specs/..%2f..%2fpyproject/template", "/order/TR-1/file/..%2f1", "/order/~ff~fe",
)  # fmt: skip


def test_no_path_leads_out_of_the_desk(room: Room) -> None:
    client = room.person()
    for path in PATHS:
        answer = client.get(path)
        assert answer.status_code in (404, 405), (path, answer.text)
        assert str(room.book.folder) not in answer.text, path


@given(st.text(min_size=1, max_size=40).filter(lambda text: "\0" not in text))
def test_any_number_is_a_step_of_an_address_and_comes_back(number: str) -> None:
    number = number.encode("utf-8", "replace").decode()
    step = step_of(number)
    assert re.fullmatch(r"[A-Za-z0-9_~-]+", step)
    assert number_of(step) == number


def test_every_answer_tells_the_browser_to_trust_nothing(room: Room) -> None:
    client = room.person()
    for path in ("/", "/login", "/nowhere", "/static/x/desk.css", "/order/TR-1", "/order/none"):
        headers = client.get(path).headers
        policy = headers["content-security-policy"]
        assert "default-src 'none'" in policy
        assert "unsafe" not in policy
        assert "*" not in policy
        assert headers["x-content-type-options"] == "nosniff"
        assert headers["x-frame-options"] == "DENY"
        assert headers["referrer-policy"] == "same-origin"


def test_a_browser_asks_once_for_what_pages_are_made_with(room: Room) -> None:
    """Under its own stamp it may be kept for ever (RFC 8246), under another it is not."""
    page = room.browser().get("/login").text
    style = re.findall(r'href="(/static/[0-9a-f]{16}/desk\.css)"', page)[0]
    found = room.browser().get(style)
    assert "immutable" in found.headers["cache-control"]
    assert found.headers["content-type"].startswith("text/css")
    old = room.browser().get(f"/static/{'0' * 16}/desk.css")
    assert old.headers["cache-control"] == "no-cache"
    assert old.content == found.content


def test_pages_hold_nothing_inline_and_nothing_from_elsewhere(room: Room, rounds: Rounds) -> None:
    rounds({"label-a.pdf": "bleed.short stop 1"})
    client = room.person(role=Role.ADMIN)
    for path in ("/", "/login", "/order/TR-1", "/orders/new", "/aside", "/people", "/specs",
                 "/specs/label-12in", "/specs/own/new", "/order/TR-1/letter",
                 "/order/TR-1/art/1"):  # fmt: skip
        page = client.get(path).text
        assert "</main>" in page, path
        assert not re.search(r"\son[a-z]+\s*=", page), path
        assert not re.search(r"\sstyle\s*=|<style", page), path
        assert not re.search(r"<script(?![^>]*\ssrc=)", page), path
        for address in re.findall(r'(?:href|src|action)="([^"]*)"', page):
            assert address.startswith(("/", "#", "?")), (path, address)


def test_markup_is_shown_as_text_wherever_it_is_written(room: Room) -> None:
    client = room.person(f"Ada {MARKUP}", Role.ADMIN)
    secret = secret_of(client.get("/").text)
    fields = dict.fromkeys(("number", "client", "title", "catalogue"), MARKUP)
    data = {**fields, "format": "12-inch", "discs": "1", "speed": "33", "parts": MARKUP.replace(
        ":", "")}  # fmt: skip
    answer = client.post("/orders/new", data={**data, "secret": secret})
    assert answer.status_code == 303, answer.text
    order = answer.headers["location"].partition("?")[0]
    sent = {"files": (f"{MARKUP}.pdf", b"no art")}
    came = client.post(
        "/drop", data={"secret": secret, "order": MARKUP, "sender": MARKUP}, files=sent
    )
    assert came.status_code == 303, came.text
    client.post(f"{order}/ask", data={"words": MARKUP, "secret": secret})
    client.post(f"{order}/answer", data={"words": MARKUP, "sender": MARKUP, "secret": secret})
    client.post(f"{order}/link", data={"for": MARKUP, "secret": secret})
    client.post("/people", data={"name": MARKUP, "role": "intake", "password": "x" * 12,
                                 "secret": secret})  # fmt: skip
    asked = {"find": MARKUP, "due": MARKUP, "waits": MARKUP, "page": MARKUP}
    pages = [
        client.get("/"), client.get("/", params=asked), client.get(order), client.get("/people"),
        client.get("/aside"), client.get("/login", params={"then": MARKUP, "said": MARKUP}),
        client.get(f"/order/{step_of(MARKUP)}x"), client.get(order, params={"said": MARKUP}),
        client.post("/orders/new", data={**data, "secret": secret}),
        client.post("/orders/file", data={"toml": MARKUP, "due": MARKUP, "secret": secret}),
        client.post("/orders/table", data={"csv": f"{MARKUP}\n{MARKUP}", "secret": secret}),
        client.post("/aside", data={"order": MARKUP, "delivery": "1", "secret": secret}),
        client.post("/specs/own", data={"toml": MARKUP, "secret": secret}),
        client.post("/specs/own", data={"toml": f'name = "x"\n# {MARKUP}', "secret": secret}),
        client.post(f"{order}/letter", data={"text": MARKUP, "to": MARKUP, "secret": secret}),
    ]  # fmt: skip
    for page in pages:
        assert "<script>alert" not in page.text, page.url
        assert "<img src=x" not in page.text, page.url
    assert "&lt;script&gt;alert(1)" in pages[2].text


def test_markup_of_clients_and_in_decisions_is_shown_as_text(room: Room, rounds: Rounds) -> None:
    rounds({"label-a.pdf": f"bleed.short query 1 {MARKUP}"})
    client = room.person()
    link = f"/c/{Access(room.book).make_link('TR-1', MARKUP, timedelta(days=1), 'Ada Fenn')}"
    page = client.get("/order/TR-1").text
    form = {name: hidden(page, name) for name in ("secret", "seen", "finding", "stand")}
    decided = client.post("/order/TR-1/decide", data={**form, "kind": "ask", "why": MARKUP})
    assert decided.status_code == 303, decided.text
    outside = room.browser()
    said = outside.post(f"{link}/answer", data={"finding": "1", "words": MARKUP})
    assert said.status_code == 303
    outside.post(f"{link}/files", files={"files": (f"{MARKUP}.tif", b"no art")})
    signing = dict.fromkeys(("name", "role", "remarks", "choice", "proof", "seen"), MARKUP)
    pages = [
        client.get("/order/TR-1"), outside.get(link), client.get("/order/TR-1/art/1"),
        client.get("/order/TR-1/letter"), outside.post(f"{link}/sign", data=signing),
        outside.post(f"{link}/answer", data={"finding": "99", "words": MARKUP}),
        client.post("/order/TR-1/decide", data={**form, "kind": "accept", "why": MARKUP}),
    ]  # fmt: skip
    for one in pages:
        assert "<script>alert" not in one.text, one.url
        assert "<img src=x" not in one.text, one.url
    for one in pages[:2]:
        assert one.text.count("&lt;script&gt;alert(1)") >= 2


def test_a_session_that_is_made_up_opens_nothing(room: Room) -> None:
    room.person()
    client = room.browser()
    for token in ("", "0" * 64, "../" * 8, "A" * 64, "f" * 4096):
        client.cookies.set("prepcheck-desk", token)
        for path in ("/", "/order/TR-1", "/people"):
            assert client.get(path).headers["location"].startswith("/login"), token


def test_an_archive_that_is_a_trap_costs_itself_alone(room: Room) -> None:
    """Archives in archives, a link that leads out, a path that does; the rest comes in."""
    inner = b"art"
    for depth in range(6):
        packed = io.BytesIO()
        with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as archive:
            archive.writestr("deeper.zip" if depth else "label-a.pdf", inner)
        inner = packed.getvalue()
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("nested.zip", inner)
        archive.writestr("../../../outside.pdf", b"x")
        link = zipfile.ZipInfo("link.pdf")
        link.external_attr = 0o120777 << 16
        archive.writestr(link, "/etc/passwd")
        archive.writestr("label-b.pdf", b"B")
    client = room.person()
    data = {"secret": secret_of(client.get("/").text), "order": "TR-1"}
    sent = client.post("/drop", data=data, files={"files": ("trap.zip", packed.getvalue())})
    assert sent.status_code == 303
    files = room.book.story("TR-1").deliveries[0].files
    assert "trap.zip/label-b.pdf" in [file.name for file in files]
    assert not any(name.endswith(("deeper.zip/label-a.pdf", "link.pdf")) for name in
                   (file.name for file in files))  # fmt: skip
    assert not list(room.book.folder.rglob("outside.pdf"))
    (whole,) = (file for file in files if file.name == "trap.zip")
    for named in ("nested.zip", "link.pdf"):
        assert named in whole.note, whole


FORMS = (
    ("/logout", {"x": "y"}), ("/aside", {"order": "TR-1", "delivery": "1"}),
    ("/orders/new", {"number": "X"}), ("/orders/file", {"toml": ""}),
    ("/orders/table", {"csv": ""}),
    ("/order/TR-1/decide", {"finding": "1", "kind": "accept", "why": "x"}),
    ("/order/TR-1/ask", {"words": "x"}), ("/order/TR-1/answer", {"words": "x", "sender": "y"}),
    ("/order/TR-1/place", {"file": "1", "part": "Label A"}), ("/order/TR-1/release", {"x": "y"}),
    ("/order/TR-1/link", {"for": "x"}), ("/order/TR-1/unlink", {"link": "1"}),
    ("/order/TR-1/letter", {"text": "x"}), ("/people", {"name": "x", "role": "admin"}),
    ("/specs/own", {"toml": "x"}),
)  # fmt: skip


def test_a_form_from_another_site_does_nothing(room: Room, rounds: Rounds) -> None:
    rounds({"label-a.pdf": "bleed.short query 1"})
    foreign = {"sec-fetch-site": "cross-site"}
    for path, data in FORMS:
        client = room.person(role=Role.ADMIN)  # time goes on here with each request
        secret = secret_of(client.get("/").text)
        before = len(tuple(room.book.journal()))
        for wrong in ({}, {"secret": ""}, {"secret": "0" * 64}, {"secret": secret + "0"}):
            assert client.post(path, data={**data, **wrong}).status_code == 403, (path, wrong)
        right = {**data, "secret": secret}
        assert client.post(path, data=right, headers=foreign).status_code == 403, path
        assert len(tuple(room.book.journal())) == before, path


def test_every_form_is_tried_from_another_site(room: Room) -> None:
    """The list above is whole: it is held to the desk's own addresses."""
    from prepcheck.desk.app import _routes
    from prepcheck.desk.assets import read_assets

    taking = {
        route.path.replace("{order}", "TR-1")
        for route in _routes(read_assets())
        if "POST" in (route.methods or ())
    }
    open_ones = ("/c/", "/api/", "/check")
    elsewhere = {"/login", "/drop", *(p for p in taking if p.startswith(open_ones))}
    assert taking - elsewhere - {path for path, _ in FORMS} == set()


def test_another_persons_secret_does_not_do(room: Room) -> None:
    ada, bo = room.person("Ada Fenn"), room.person("Bo Marsh")
    theirs = secret_of(bo.get("/").text)
    answer = ada.post("/order/TR-1/ask", data={"words": "x", "secret": theirs})
    assert answer.status_code == 403


def test_too_much_is_refused_before_it_is_read(room: Room) -> None:
    client = room.person()
    secret = secret_of(client.get("/").text)
    answer = client.post("/orders/table", data={"csv": "x" * (1 << 20), "secret": secret})
    assert answer.status_code == 413

    odd = client.post("/orders/new", content=b"{}", headers={"content-type": "application/json"})
    assert odd.status_code == 415


def test_what_comes_without_its_length_is_counted_as_it_comes(room: Room) -> None:
    """And what does not come at all is not waited for."""
    room.settings = DeskSettings(patience=0.05)
    client = room.person()
    token, app = client.cookies["prepcheck-desk"], client.app
    scope = {
        "type": "http", "http_version": "1.1", "method": "POST", "path": "/orders/table",
        "raw_path": b"/orders/table", "query_string": b"", "root_path": "", "scheme": "http",
        "server": ("desk.test", 80), "client": ("127.0.0.1", 1),
        "headers": [
            (b"content-type", b"application/x-www-form-urlencoded"),
            (b"cookie", f"prepcheck-desk={token}".encode()),
        ],
    }  # fmt: skip
    came = 0

    async def endless() -> dict[str, object]:
        nonlocal came
        came += 1
        return {"type": "http.request", "body": b"x" * 65_536, "more_body": True}

    async def silent() -> dict[str, object]:
        await anyio.sleep(60)
        return {}

    async def dribbling() -> dict[str, object]:
        await anyio.sleep(0.01)
        return {"type": "http.request", "body": b"x", "more_body": True}

    statuses = []

    async def send(message: dict[str, object]) -> None:
        if message["type"] == "http.response.start":
            statuses.append(message["status"])

    for receive in (endless, silent, dribbling):
        anyio.run(app, dict(scope), receive, send)
    assert statuses == [413, 408, 408]
    assert came <= 17


def test_files_come_back_as_nothing_a_browser_runs(room: Room, rounds: Rounds) -> None:
    rounds({"label-a.pdf": "", "evil.html": "<script>alert(1)</script>", "evil.svg": "<svg/>"})
    client = room.person()
    for file in room.book.story("TR-1").deliveries[0].files:
        answer = client.get(f"/order/TR-1/file/{file.id}")
        assert answer.status_code == 200
        assert answer.headers["content-type"] == "application/octet-stream"
        assert answer.headers["content-disposition"].startswith("attachment;")
        assert answer.headers["x-content-type-options"] == "nosniff"


def test_a_file_of_another_order_is_not_here(room: Room, rounds: Rounds, tmp_path: Path) -> None:
    entered(room.book, "TR-2")
    rounds({"label-a.pdf": ""})
    room.round({"label-b.pdf": "bleed.short stop 1"}, tmp_path / "other", "TR-2")
    client = room.person()
    theirs = room.book.story("TR-2").deliveries[0].files[0].id
    assert client.get(f"/order/TR-1/file/{theirs}").status_code == 404
    assert client.get(f"/order/TR-2/file/{theirs}").status_code == 200


def test_names_of_saved_files_cannot_break_out_of_their_header() -> None:
    header = saved_as('a"\r\nSet-Cookie: x=1; b.pdf')
    assert "\r" not in header
    assert "\n" not in header
    assert header.count('"') == 2
    assert saved_as("Größe.pdf").endswith("UTF-8''Gr%C3%B6%C3%9Fe.pdf")


def test_a_fault_of_ours_tells_nothing_of_the_inside(room: Room) -> None:
    client = room.person()
    secret = secret_of(client.get("/").text)
    folder = str(room.book.folder)
    (room.book.folder / "files" / "aside").rmdir()
    (room.book.folder / "files" / "aside").write_text("in the way")
    answer = client.post(
        "/drop", data={"secret": secret, "order": "TR-1"}, files={"files": ("a.pdf", b"x")}
    )
    assert answer.status_code == 409
    assert "nothing was recorded" in answer.text
    assert folder not in answer.text
    assert "Traceback" not in answer.text


def test_a_proxy_may_hand_on_its_prefix_or_cut_it_off(room: Room) -> None:
    room.settings = DeskSettings(prefix="/plant")
    client = room.person()
    for path in ("/", "/plant/", "/order/TR-1", "/plant/order/TR-1"):
        page = client.get(path)
        assert page.status_code == 200, path
        for address in re.findall(r'(?:href|src|action)="([^"#?]+)', page.text):
            assert address.startswith("/plant"), address
    assert room.browser().get("/").headers["location"] == "/plant/login?then=%2F"
    assert client.get("/plant/static/x/desk.css").status_code == 200


def test_the_palette_is_the_proofs() -> None:
    """Soft text and the colour of queries are a little darker: they stand on a tint here."""
    style = (STATIC / "desk.css").read_text().partition("@media")[0]
    said = dict(re.findall(r"--([a-z]+): (#[0-9a-f]{6})", style))
    for name in ("TEXT", "RULE", "HAIR", "TINT", "PAPER", "STOP", "NOTE", "CLEAR", "CUT"):
        assert said[name.lower()] == Palette[name].value


def _luminance(colour: str) -> float:
    """Relative luminance by WCAG 2.2, from the sRGB of a colour."""
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    r, g, b = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts)
    return 0.2126 * r + 0.7152 * g + 0.0722 * b


@pytest.mark.parametrize("scheme", [0, 1])
def test_text_stands_out_from_its_ground_in_light_and_in_dark(scheme: int) -> None:
    """WCAG 2.2, 1.4.3 (AA): 4.5 to 1 at least."""
    style = (STATIC / "desk.css").read_text()
    said = dict(re.findall(r"--([a-z]+): (#[0-9a-f]{6})", style.split(":root {")[scheme + 1]))
    for ink in ("text", "soft", "stop", "query", "note", "clear", "cut", "zone"):
        for ground in ("tint", "paper"):
            light, dark = sorted((_luminance(said[ink]), _luminance(said[ground])), reverse=True)
            assert (light + 0.05) / (dark + 0.05) >= 4.5, (ink, ground)
    light, dark = sorted((_luminance(said["on"]), _luminance(said["cut"])), reverse=True)
    assert (light + 0.05) / (dark + 0.05) >= 4.5


def test_the_secret_of_a_page_is_its_sessions_own(room: Room) -> None:
    client = room.person()
    assert hidden(client.get("/").text, "secret") == hidden(client.get("/aside").text, "secret")
