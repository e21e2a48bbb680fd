"""The plant's own specs, edited at the desk."""

from __future__ import annotations

import re

from prepcheck.book.records import Role
from prepcheck.desk.own_specs import line_of
from tests.desk.conftest import Room, hidden, secret_of

GOOD = """extends = "label-12in"
name = "our-label"
title = "Our 12-inch label"

[clearance.hole]
wanted_mm = 5.0

[sources]
"clearance.hole.wanted_mm" = "our own drill, measured"
"""


def test_a_spec_is_written_read_changed_and_used(room: Room) -> None:
    client = room.person()
    page = client.get("/specs/own/new").text
    form = {"secret": secret_of(page), "over": hidden(page, "over")}
    saved = client.post("/specs/own", data={**form, "toml": GOOD})
    assert (saved.status_code, saved.headers["location"]) == (303, "/specs/our-label")
    assert tuple(room.book.journal())[-1].act == "spec saved"
    assert "our-label" in client.get("/specs").text
    page = client.get("/specs/our-label").text
    assert "our own drill, measured" in page
    template = client.get("/specs/our-label/template")
    assert template.content.startswith(b"%PDF-")
    again = client.post("/specs/own", data={**form, "toml": GOOD})
    assert again.status_code == 422, "it is there already"
    over = hidden(client.get("/specs/own/our-label").text, "over")
    changed = GOOD.replace("5.0", "6.0")
    assert (
        client.post("/specs/own", data={**form, "over": over, "toml": changed}).status_code == 303
    )
    stale = client.post("/specs/own", data={**form, "over": over, "toml": GOOD})
    assert stale.status_code == 422
    assert "changed by somebody else" in stale.text
    fields = dict.fromkeys(("number", "client", "title", "catalogue"), "OWN-1")
    more = {"format": "12-inch", "discs": "1", "speed": "33", "parts": "Label A: A, our-label"}
    entered = client.post("/orders/new", data={**fields, **more, "secret": form["secret"]})
    assert entered.status_code == 303, entered.text
    (part,) = room.book.story("OWN-1").parts
    assert part.spec_digest is not None
    assert b"wanted_mm = 6.0" in room.book.store.read(part.spec_digest)


FAULTS = (
    ("5.0", "-5.0", 6, "it must be at least 0"),
    ("title =", "titel =", 3, "unknown key"),
    ("wanted_mm = 5.0", "wanted_mm = ", 6, "not valid TOML"),
    ('"clearance.hole.wanted_mm" = "our own drill, measured"', "", 6, "no source"),
    ("label-12in", "label-13in", 1, "did you mean"),
    ("label-12in", "../label-12in", 1, "name a spec that is shipped"),
    ("our-label", "label-12in", 2, "is a spec that is shipped"),
    ("our-label", "../../x", 2, "write a short name"),
    ("[clearance", 'print_condition = "/etc/x.toml"\n[clearance', 5, "name one that is"),
)  # fmt: skip


def test_faults_are_shown_at_their_line(room: Room) -> None:
    client = room.person()
    form = {"secret": secret_of(client.get("/").text), "over": ""}
    for old, new, line, words in FAULTS:
        answer = client.post("/specs/own", data={**form, "toml": GOOD.replace(old, new, 1)})
        assert answer.status_code == 422, new
        said = re.search(rf"Line {line}</a>: ([^<]*)", answer.text)
        assert said is not None, (new, answer.text)
        assert words in said[1], new
        assert f'id="line-{line}" class="at"' in answer.text, new
        assert "/tmp" not in answer.text, new
    assert not (room.book.folder / "specs").exists()


def test_intake_changes_no_spec(room: Room) -> None:
    client = room.person(role=Role.INTAKE)
    form = {"secret": secret_of(client.get("/").text), "over": "", "toml": GOOD}
    assert client.post("/specs/own", data=form).status_code == 403
    assert client.get("/specs/own/new").status_code == 403
    assert "/specs/own" not in client.get("/specs").text


def test_a_key_is_found_whichever_way_it_is_written() -> None:
    text = 'a = 1\n[b.c]\nd = 2\n[[e]]\nf.g = 3\n[sources]\n"b.c.d" = "x"\n'
    assert [line_of(text, key) for key in ("a", "b.c.d", "b.c.x", "e[1].f.g", "sources.b.c.d")] == [
        1, 3, 2, 5, 7
    ]  # fmt: skip
    assert line_of(text, "z") is None
