"""Print conditions: how inks look on a named paper.

The model is that of Neugebauer as modified by Yule and Nielsen (J. A. C. Yule, W. J. Nielsen, TAGA
Proceedings 1951; J. A. S. Viggiano, TAGA Proceedings 1985; both from memory), here on X, Y, Z.
"""

from __future__ import annotations

import errno
import itertools
import json
import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import replace
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np

from prepcheck.art.model import PROCESS_INKS
from prepcheck.errors import UsageError, said_by
from prepcheck.frozen import dataclass
from prepcheck.geometry import FloatArray

D50 = np.array((96.42, 100.0, 82.49))
"""X, Y, Z of the white that Lab refers to (ISO 13655)."""
_PACKAGE = Path(__file__).resolve().parents[2]


@dataclass(frozen=True, eq=False)
class PrintCondition:
    """Paper, process inks and press, as figures from a published characterisation.

    `primaries` (16, 3) are X, Y, Z of paper, solids and overprints, Cyan counting 8, Magenta 4,
    Yellow 2 and Black 1; `curves` gives each ink's tints and the coverage they come to on paper.
    `profile`, an ICC output profile, stands for them where inks are shown; `remark` is what else
    is to be said of the colours shown.
    """

    name: str
    title: str
    source: str
    yule_nielsen: float
    primaries: FloatArray
    curves: tuple[tuple[FloatArray, FloatArray], ...]
    coated: bool = False
    profile: bytes | None = None
    remark: str = ""

    def coverage(self, tints: FloatArray) -> FloatArray:
        """Return the coverage on paper of tints (..., 4), 0..1 each."""
        covered = [np.interp(tints[..., i], *self.curves[i]) for i in range(4)]
        return np.stack(covered, axis=-1)

    def xyz(self, tints: FloatArray) -> FloatArray:
        """Return X, Y, Z (..., 3) for D50 of tints (..., 4) of Cyan, Magenta, Yellow, Black."""
        return self.xyz_of_coverage(self.coverage(np.asarray(tints, np.float64)))

    def xyz_of_coverage(self, covered: FloatArray) -> FloatArray:
        """Return X, Y, Z (..., 3) of coverages (..., 4) on paper (Demichel's equations)."""
        return self.xyz_of_each(*np.moveaxis(covered, -1, 0))

    def xyz_of_each(
        self, cyan: FloatArray, magenta: FloatArray, yellow: FloatArray, black: FloatArray
    ) -> FloatArray:
        """Return X, Y, Z (..., 3) of the coverages of each ink, which are broadcast: of those that
        each vary along an axis of their own, little is worked out more than once."""
        roots = self.primaries ** (1.0 / self.yule_nielsen)
        mixed: FloatArray = roots.reshape((1,) * cyan.ndim + (2, 2, 2, 2, 3))
        for share in (cyan, magenta, yellow, black):
            without, solid = np.moveaxis(mixed, cyan.ndim, 0)
            mixed = without + share.reshape(share.shape + (1,) * (without.ndim - share.ndim)) * (
                solid - without
            )
        return mixed**self.yule_nielsen

    def lab(self, tints: FloatArray) -> FloatArray:
        """Return CIE L*, a*, b* (..., 3) for D50 of tints (..., 4)."""
        return lab_of_xyz(self.xyz(tints))

    @property
    def paper(self) -> FloatArray:
        """X, Y, Z of the bare paper."""
        bare: FloatArray = self.primaries[0]
        return bare


def lab_of_xyz(xyz: FloatArray, white: FloatArray = D50) -> FloatArray:
    """Return L*, a*, b* (..., 3) of X, Y, Z (..., 3) (ISO/CIE 11664-4)."""
    share = np.asarray(xyz, np.float64) / white
    f = np.where(share > (6 / 29) ** 3, np.cbrt(share), share * (841 / 108) + 4 / 29)
    return np.stack(
        (
            116 * f[..., 1] - 16,
            500 * (f[..., 0] - f[..., 1]),
            200 * (f[..., 1] - f[..., 2]),
        ),
        axis=-1,
    )


def conditions_folder() -> Path:
    """Return the folder of the shipped print conditions."""
    for folder in (_PACKAGE / "profiles", _PACKAGE.parent / "profiles"):
        if (folder / "conditions").is_dir():
            return folder / "conditions"
    raise UsageError("the print conditions are missing; install prepcheck again")


@lru_cache(maxsize=8)
def load_condition(name: str) -> PrintCondition:
    """Return a shipped print condition by name, or one from a path to a TOML file.

    Its `profile`, an output profile, is a path from that file. What it leaves out is that of the
    condition it `extends`, if any. One that was taken along is had as it came. Raises UsageError
    with what is wrong.
    """
    if name in _ALONG:
        along = _ALONG[name]
        return replace(condition_from(json.loads(along.table)), profile=along.profile)
    path = _path_of(name, Path())
    try:
        data = _read(path, ())
        condition = condition_from(data)
    except FileNotFoundError:
        known = ", ".join(sorted(one.stem for one in conditions_folder().glob("*.toml")))
        raise UsageError(f"{name}: no such print condition; there are {known}") from None
    except (OSError, ValueError, KeyError, TypeError) as error:
        raise UsageError(f"{path.name}: not a print condition ({said_by(error)})") from error
    if "profile" not in data:
        return condition
    profile = path.parent / str(data["profile"])
    try:
        if profile.exists() and not profile.is_file():
            raise OSError(errno.EINVAL, "it is no file")
        return replace(condition, profile=profile.read_bytes())
    except OSError as error:
        why = f"the output profile {profile.name} cannot be read ({error.strerror})"
        raise UsageError(f"{path.name}: {why}; correct the path or leave it out") from error


@dataclass(frozen=True)
class ConditionAlong:
    """A condition in a file of its own, as it goes along with art to another machine: the name
    that specs call it by, its table over what it extends (JSON), and its output profile."""

    name: str
    table: str
    profile: bytes | None = None


def condition_along(name: str) -> ConditionAlong | None:
    """Return a condition to be taken along; None for one that comes with prepcheck.

    Raises UsageError like `load_condition`.
    """
    if not name.endswith(".toml"):
        return None
    condition = load_condition(name)
    table = {**_read(_path_of(name, Path()), ()), "name": condition.name}
    return ConditionAlong(name, json.dumps(table, default=str), condition.profile)


def take_along(conditions: Iterable[ConditionAlong]) -> None:
    """Have `load_condition` give these in this process, which is to examine art from elsewhere."""
    _ALONG.update({one.name: one for one in conditions})
    load_condition.cache_clear()


_ALONG: dict[str, ConditionAlong] = {}


def _path_of(name: str, folder: Path) -> Path:
    return folder / name if name.endswith(".toml") else conditions_folder() / f"{name}.toml"


def _read(path: Path, below: tuple[Path, ...]) -> dict[str, Any]:
    """Return the table of a condition over that of what it extends."""
    if path.resolve() in below:
        raise ValueError("conditions extend each other in a circle")
    if path.exists() and not path.is_file():  # a pipe would wait, a device might never end
        raise ValueError("it is no file")
    data = tomllib.loads(path.read_text("utf-8"))
    if "extends" not in data:
        return data
    under = _path_of(str(data["extends"]), path.parent)
    if not under.is_file():
        raise ValueError(f"it extends {data['extends']!r}, which is not there")
    base = _read(under, (*below, path.resolve()))
    if "profile" in base and "profile" not in data:
        data["profile"] = str(under.parent.absolute() / str(base["profile"]))
    return {**base, "name": path.stem, **data}


def condition_from(data: Mapping[str, Any]) -> PrintCondition:
    """Return the print condition that a TOML table describes.

    Raises KeyError, TypeError or ValueError where something is missing or of the wrong kind.
    """
    primaries = []
    for marks in itertools.product((False, True), repeat=4):
        key = "".join(letter for letter, mark in zip("CMYK", marks, strict=True) if mark)
        primaries.append([float(value) for value in data["primaries"][key or "paper"]])
    curves = []
    for ink in PROCESS_INKS:
        curve = data["curves"][ink]
        tints, coverage = np.array(curve["tint"], float) / 100, np.array(curve["coverage"], float)
        if tints.shape != coverage.shape or (np.diff(tints) <= 0).any():
            raise ValueError(f"the curve of {ink} does not rise")
        curves.append((tints, coverage))
    table = np.array(primaries)
    if table.shape != (16, 3) or (table <= 0).any():
        raise ValueError("sixteen primaries of X, Y, Z are needed")
    return PrintCondition(
        name=str(data["name"]),
        title=str(data["title"]),
        source=str(data["source"]),
        yule_nielsen=float(data["yule_nielsen"]),
        primaries=table,
        curves=tuple(curves),
        coated=bool(data.get("coated", False)),
    )
