"""What programs may ask the desk, described (OpenAPI 3.1)."""

from __future__ import annotations

from typing import Any

from prepcheck import __version__

_TEXT, _NUMBER, _FLAG = {"type": "string"}, {"type": "integer"}, {"type": "boolean"}
_ORDER_STEP = {
    "name": "order", "in": "path", "required": True, "schema": _TEXT,
    "description": "The order's number; what is no letter, digit, '-' or '_' is written '~' and "
    "two hex digits a byte of its UTF-8.",
}  # fmt: skip


def _maybe(kind: dict[str, Any]) -> dict[str, Any]:
    return {"type": [kind["type"], "null"]}


def _list(of: dict[str, Any]) -> dict[str, Any]:
    return {"type": "array", "items": of}


def _table(**of: dict[str, Any]) -> dict[str, Any]:
    return {"type": "object", "properties": of, "required": list(of)}


def _json(words: str, name: str) -> dict[str, Any]:
    schema = {"$ref": f"#/components/schemas/{name}"}
    return {"description": words, "content": {"application/json": {"schema": schema}}}


_FAULT = {"4XX": _json("Refused, and why.", "Fault")}
_SCHEMAS = {
    "Fault": _table(error=_table(status=_NUMBER, lines=_list(_TEXT))),
    "Order": _table(
        number=_TEXT, client=_TEXT, title=_TEXT, catalogue=_TEXT, due=_maybe(_TEXT),
        round=_NUMBER, waiting_for={"enum": ["client", "us", "plant"]}, waiting_why=_TEXT,
        examined=_FLAG, verdict={"enum": ["clear", "query", "stop", None]}, missing=_list(_TEXT),
        parts=_list(
            _table(
                name=_TEXT, state={"enum": ["missing", "waiting", "clear", "query", "stop"]},
                file=_maybe(_TEXT), sha256=_maybe(_TEXT),
            )
        ),
        open=_list(
            _table(
                number=_NUMBER, part=_maybe(_TEXT), check=_TEXT,
                severity={"enum": ["query", "stop"]}, message=_TEXT, fix=_TEXT,
            )
        ),
        released=_maybe(_NUMBER),
    ),
    "NewOrder": {
        "type": "object",
        "properties": {
            "order": {"type": "object", "description": "As the [order] table of an order file."},
            "part": _list({"type": "object", "description": "As a [[part]] table."}),
            "due": _TEXT,
        },
        "required": ["order", "part"],
    },
    "Taken": _table(
        delivery=_NUMBER, round=_NUMBER, new=_FLAG, refused=_list(_TEXT),
        files=_list(_table(name=_TEXT, sha256=_TEXT)),
    ),
    "Board": _table(schema=_TEXT, orders=_list({"type": "object"})),
    "Report": {"type": "object", "description": "Schema prepcheck-report/1."},
}  # fmt: skip


def description(base: str) -> dict[str, Any]:
    """Return the description of the interface that is served under `base`."""
    sent = {
        "required": True,
        "content": {
            "multipart/form-data": {
                "schema": {
                    "type": "object",
                    "properties": {
                        "sender": _TEXT,
                        "files": _list({"type": "string", "format": "binary"}),
                    },
                }
            }
        },
    }
    new = {
        "required": True,
        "content": {"application/json": {"schema": {"$ref": "#/components/schemas/NewOrder"}}},
    }
    pdf = {"description": "The proof.", "content": {"application/pdf": {}}}
    find = {"name": "find", "in": "query", "schema": _TEXT}
    page = {"name": "page", "in": "query", "schema": _NUMBER}
    one = [_ORDER_STEP]
    return {
        "openapi": "3.1.0",
        "info": {"title": "prepcheck desk", "version": __version__},
        "servers": [{"url": base}],
        "security": [{"token": []}],
        "paths": {
            "/orders": {
                "get": {
                    "summary": "List orders, those due first first", "parameters": [find, page],
                    "responses": {"200": _json("A page of the board.", "Board"), **_FAULT},
                },
                "post": {
                    "summary": "Enter an order", "requestBody": new,
                    "responses": {"201": _json("Entered.", "Order"), **_FAULT},
                },
            },
            "/orders/{order}": {
                "get": {
                    "summary": "Read where an order stands, its verdict and what is open",
                    "parameters": one,
                    "responses": {"200": _json("The order.", "Order"), **_FAULT},
                }
            },
            "/orders/{order}/files": {
                "post": {
                    "summary": "Send files, or a ZIP of them; they are examined afterwards",
                    "parameters": one, "requestBody": sent,
                    "responses": {"202": _json("Taken in.", "Taken"), **_FAULT},
                }
            },
            "/orders/{order}/report": {
                "get": {
                    "summary": "Read the report of the latest examination", "parameters": one,
                    "responses": {"200": _json("The report.", "Report"), **_FAULT},
                }
            },
            "/orders/{order}/proof": {
                "get": {
                    "summary": "Fetch the proof of the files as they are now (PDF)",
                    "parameters": one, "responses": {"200": pdf, **_FAULT},
                }
            },
        },
        "components": {
            "schemas": _SCHEMAS,
            "securitySchemes": {"token": {"type": "http", "scheme": "bearer"}},
        },
    }  # fmt: skip
