"""Faults in TOML files as single lines: where, what is wrong, what is allowed, what is nearest."""

from __future__ import annotations

import difflib
import errno
import stat
import tomllib
from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path
from types import UnionType
from typing import TYPE_CHECKING, Any, Literal, Union, get_args, get_origin

if TYPE_CHECKING:  # most who word a fault meet no model, and pydantic takes long to import
    from pydantic import BaseModel, ValidationError
    from pydantic_core import ErrorDetails


Location = tuple[str | int, ...]
MOST_TOML_BYTES = 4_000_000


class TomlError(Exception):
    """A file cannot be read as TOML; the message is one finished line."""


NO_SUCH_FILE = "there is no such file"
A_PIPE = "this is a pipe, a socket or a device, and no file"
A_FOLDER = "this is a folder; name one file in it"


def no_plain_file(path: Path) -> str | None:
    """Say in a few words why a path names no plain file that could be read; None when it does.

    Nothing is opened: a pipe would wait and a device might never end.
    """
    try:
        mode = path.stat().st_mode
    except (FileNotFoundError, NotADirectoryError):
        return NO_SUCH_FILE
    except OSError as error:
        if error.errno == errno.ENAMETOOLONG:
            return "the name is longer than the system allows; give the file a shorter one"
        return f"it cannot be opened ({error.strerror or error})"
    except ValueError:
        return "the name holds a character that no file name can hold"
    if stat.S_ISDIR(mode):
        return A_FOLDER
    return None if stat.S_ISREG(mode) else A_PIPE


def short_name(path: Path) -> str:
    """Return a path for a message, its middle left out where it is very long."""
    text = str(path).encode("utf-8", "replace").decode("utf-8")
    return text if len(text) <= 400 else f"{text[:200]} … {text[-60:]}"


def read_toml(path: Path) -> dict[str, Any]:
    """Return the tables of a TOML file; raises TomlError with one line that names the file."""
    why = no_plain_file(path)
    if why is not None:
        raise TomlError(f"{short_name(path)}: {why}")
    try:
        if path.stat().st_size > MOST_TOML_BYTES:
            raise TomlError(
                f"{path}: larger than {MOST_TOML_BYTES // 1_000_000} MB, which no order or spec is"
            )
        return tomllib.loads(path.read_text(encoding="utf-8-sig"))
    except RecursionError:
        raise TomlError(
            f"{path}: not valid here: its tables or lists are nested too deep"
        ) from None
    except UnicodeDecodeError as error:
        raise TomlError(
            f"{path}: not UTF-8 text (byte {error.start}); save it as plain text in UTF-8"
        ) from None
    except OSError as error:
        raise TomlError(f"{path}: cannot be read ({error.strerror or error})") from None
    except tomllib.TOMLDecodeError as error:
        raise TomlError(f"{path}: not valid TOML: {str(error)[:200]}") from None
    except ValueError:  # Python converts no number of more than 4,300 digits
        raise TomlError(f"{path}: holds a number with thousands of digits") from None


def nearest(name: str, known: Iterable[str], count: int = 1) -> tuple[str, ...]:
    """Return the known names most like `name`, best first; empty when none is like it."""
    return tuple(difflib.get_close_matches(name, sorted(known), n=count, cutoff=0.55))


def hint(name: str, known: Iterable[str]) -> str:
    """Return what to say after an unknown name: the nearest known one, else all of them."""
    names = sorted(known)
    close = nearest(name, names)
    if close:
        return f"did you mean {close[0]!r}?"
    return f"allowed: {', '.join(names)}" if names else "nothing is allowed here"


def key_path(location: Sequence[str | int]) -> str:
    """Return a location as it would be written, list entries counted from 1."""
    path = ""
    for step in location:
        path += f"[{step + 1}]" if isinstance(step, int) else f"{'.' if path else ''}{step}"
    return path


def located_faults(
    error: ValidationError, model: type[BaseModel]
) -> Iterator[tuple[Location, str]]:
    """Yield each fault of a failed validation as its place in the file and one line of words."""
    details = error.errors()
    for detail in details:
        # A list whose entries are wrong is also called too short: once is enough.
        if detail["type"] == "too_short" and any(
            len(other["loc"]) > len(detail["loc"])
            and other["loc"][: len(detail["loc"])] == detail["loc"]
            for other in details
        ):
            continue
        location, owners = _resolve(detail["loc"], model)
        yield location, f"{key_path(location) or 'the file'}: {_words(detail, location, owners)}"


def _words(detail: ErrorDetails, location: Location, owners: list[type[BaseModel]]) -> str:
    context = detail.get("ctx", {})
    got = _shown(detail["input"])
    match detail["type"]:
        case "extra_forbidden":
            known = {name for owner in owners for name in owner.model_fields}
            return f"unknown key; {hint(str(location[-1]), known)}"
        case "missing":
            return "missing; it must be given"
        case "literal_error" | "enum":
            return f"{got} is not allowed here; allowed: {context['expected']}"
        case "union_tag_invalid":
            return f"kind {context['tag']!r} is not allowed; allowed: {context['expected_tags']}"
        case "union_tag_not_found":
            return "kind is missing; it must be given"
        case "greater_than":
            return f"{got} is not allowed; it must be greater than {context['gt']:g}"
        case "greater_than_equal":
            return f"{got} is not allowed; it must be at least {context['ge']:g}"
        case "less_than_equal":
            return f"{got} is not allowed; it must be at most {context['le']:g}"
        case "float_type" | "float_parsing" | "finite_number":
            return f"{got} is not a number; write one such as 3.0"
        case "int_type" | "int_parsing" | "int_from_float":
            return f"{got} is not a whole number; write one such as 2"
        case "string_type":
            return f"{got} is not text; put it in quotes"
        case "bool_type" | "bool_parsing":
            return f"{got} is neither true nor false"
        case "tuple_type":
            return f"{got} is not a list; put it in [ ]"
        case "dict_type" | "model_type" | "model_attributes_type":
            return f"{got} is not a table of keys"
        case "string_too_long":
            return (
                f"{len(detail['input'])} characters are too many; at most {context['max_length']}"
            )
        case "too_short":
            return "at least one entry must be given"
        case "value_error":
            return str(context["error"])
        case _:
            return f"{detail['msg']} (found {got})"


def _shown(value: object) -> str:
    if isinstance(value, dict):
        return "a table"
    if isinstance(value, list):
        return "a list"
    text = str(value).lower() if isinstance(value, bool) else repr(value)
    return text if len(text) <= 60 else f"{text[:57]}..."


def _resolve(location: Location, model: type[BaseModel]) -> tuple[Location, list[type[BaseModel]]]:
    """Drop the steps that only name a member of a union; return the owners of the last key."""
    owners = here = [model]
    kept: list[str | int] = []
    for step in location:
        if isinstance(step, int):
            kept.append(step)
            continue
        fields = [m.model_fields[step].annotation for m in here if step in m.model_fields]
        members = [m for m in here if _is_tagged(m, step)]
        if members and not fields:
            here = members
            continue
        kept.append(step)
        owners, here = here, [m for annotation in fields for m in _models(annotation)]
    return tuple(kept), owners


def _is_tagged(model: type[BaseModel], tag: str) -> bool:
    return any(
        get_origin(field.annotation) is Literal and tag in get_args(field.annotation)
        for name, field in model.model_fields.items()
        if name == "kind"
    )


def _models(annotation: Any) -> list[type[BaseModel]]:
    from pydantic import BaseModel

    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return [annotation]
    if get_origin(annotation) in (Union, UnionType, tuple, list, dict) or hasattr(
        annotation, "__metadata__"
    ):
        return [model for part in get_args(annotation) for model in _models(part)]
    return []
