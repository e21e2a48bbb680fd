"""Verdicts told to other programs: a signed POST each, made again where it fails."""

from __future__ import annotations

import hashlib
import hmac
import http.client
import json
import ssl
from urllib.parse import urlsplit

from prepcheck.book.book import Book
from prepcheck.book.listeners import Call, Listeners
from prepcheck.book.when import stamp
from prepcheck.errors import said_by

SIGNATURE, TIME = "X-Prepcheck-Signature", "X-Prepcheck-Time"
_SECONDS = 10.0


def tell_verdicts(book: Book) -> None:
    """Tell what is due, each to its own address; nothing that fails keeps the rest."""
    for call in Listeners(book).due():
        status, said = _called(call, stamp(book.clock()))
        Listeners(book).told(call, said, done=200 <= status < 300)


def body_of(call: Call) -> bytes:
    """Return what is told, as JSON."""
    table = {
        "schema": "prepcheck-verdict/1", "order": call.order, "round": call.round,
        "turn": call.turn, "verdict": call.verdict, "examined_at": call.examined_at,
        "waiting_for": call.waiting_for,
    }  # fmt: skip
    return json.dumps(table, ensure_ascii=False).encode("utf-8", "replace")


def signature_of(secret: str, at: str, body: bytes) -> str:
    """Return the HMAC-SHA-256 (RFC 2104) of the time, a full stop and the body, in hex."""
    return hmac.new(secret.encode(), at.encode() + b"." + body, hashlib.sha256).hexdigest()


def _called(call: Call, at: str) -> tuple[int, str]:
    """Make a call; return the status that came back, 0 for none, and it in words. A redirect is
    not followed: what was signed was for this address alone."""
    parts = urlsplit(call.address)
    body = body_of(call)
    headers = {
        "Content-Type": "application/json",
        TIME: at,
        SIGNATURE: f"sha256={signature_of(call.secret, at, body)}",
    }
    connection: http.client.HTTPConnection
    if parts.scheme == "https":
        connection = http.client.HTTPSConnection(
            parts.hostname or "", parts.port, timeout=_SECONDS, context=ssl.create_default_context()
        )
    else:
        connection = http.client.HTTPConnection(parts.hostname or "", parts.port, timeout=_SECONDS)
    target = parts.path or "/"
    try:
        connection.request(
            "POST", f"{target}?{parts.query}" if parts.query else target, body, headers
        )
        status = connection.getresponse().status
        return status, f"answered with {status}"
    except (OSError, http.client.HTTPException, ValueError) as error:
        return 0, f"not reached ({said_by(error)})"
    finally:
        connection.close()
