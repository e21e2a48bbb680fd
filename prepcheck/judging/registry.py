"""The registry: one module a check, found by discovery; nothing else lists them."""

from __future__ import annotations

import importlib
import pkgutil
from collections.abc import Iterable, Iterator
from functools import cache
from types import ModuleType

from prepcheck import checks
from prepcheck.judging.check import Check, Examine, OrderCheck, all_sheets, each_sheet
from prepcheck.said import Declaration


class RegistryError(Exception):
    """A check module is wrong; raised at import, never at a client's file."""


def all_checks() -> tuple[Check, ...]:
    """Return every check of a part, sorted by its first identifier; raises RegistryError."""
    return tuple(check for check in _registered() if isinstance(check, Check))


def order_checks() -> tuple[OrderCheck, ...]:
    """Return every check of an order as a whole, sorted; raises RegistryError."""
    return tuple(check for check in _registered() if isinstance(check, OrderCheck))


@cache
def _registered() -> tuple[Check | OrderCheck, ...]:
    """Return every check, sorted by its first identifier.

    Raises RegistryError on a duplicate identifier, an empty declaration field, or a module whose
    name does not follow from its identifiers.
    """
    names = [i.name for i in pkgutil.iter_modules(checks.__path__) if not i.name.startswith("_")]
    modules = [importlib.import_module(f"{checks.__name__}.{name}") for name in names]
    found = [check for module in modules for check in _register(module)]
    seen: dict[str, str] = {}
    for check in found:
        for declaration in check.declarations:
            if seen.get(declaration.identifier, check.module) != check.module:
                raise RegistryError(
                    f"{declaration.identifier}: declared in {seen[declaration.identifier]} "
                    f"and in {check.module}"
                )
            seen[declaration.identifier] = check.module
    return tuple(sorted(found, key=lambda check: check.declarations[0].identifier))


def declarations() -> dict[str, Declaration]:
    """Return every declaration of the checks of parts by identifier, sorted."""
    return _declared(all_checks())


def order_declarations() -> dict[str, Declaration]:
    """Return every declaration of the checks of orders by identifier, sorted."""
    return _declared(order_checks())


def _declared(checks: Iterable[Check | OrderCheck]) -> dict[str, Declaration]:
    found = {d.identifier: d for check in checks for d in check.declarations}
    return dict(sorted(found.items()))


def _register(module: ModuleType) -> Iterator[Check | OrderCheck]:
    """Yield what a module examines: a part, an order, or either for one identifier."""
    name = module.__name__.rpartition(".")[2]
    declared: tuple[Declaration, ...] = getattr(module, "DECLARATIONS", ())
    if not declared:
        raise RegistryError(f"checks/{name}.py declares no check")
    for declaration in declared:
        for field in ("identifier", "title", "rationale", "source", "severities", "codes"):
            if not getattr(declaration, field):
                raise RegistryError(f"checks/{name}.py: {declaration.identifier}: {field} is empty")
    families = {d.identifier.partition(".")[0] for d in declared}
    if len(declared) == 1:
        fits = name == declared[0].identifier.replace(".", "_").replace("-", "_")
    else:
        fits = len(families) == 1 and name.partition("_")[0] in families
    if not fits:
        raise RegistryError(f"checks/{name}.py: the file is not named after its identifiers")
    if hasattr(module, "examine_order"):
        loose = getattr(module, "examine_loose", None)
        yield OrderCheck(name, declared, module.examine_order, loose)
    parts = [part for part in ("examine", "examine_sheet") if hasattr(module, part)]
    if len(parts) > 1:
        raise RegistryError(f"checks/{name}.py: examines a part and each of its pages; choose one")
    if parts or not hasattr(module, "examine_order"):
        plates = getattr(module, "NEEDS_PLATES", True)
        view = plates and getattr(module, "NEEDS_VIEW", True)
        yield Check(name, declared, _examine_of(module), plates, view)


def _examine_of(module: ModuleType) -> Examine:
    """Return how a module examines a part: as a whole, page by page, or adding pages up."""
    if not hasattr(module, "examine_sheet"):
        examine: Examine = module.examine
        return examine
    if not hasattr(module, "conclude"):
        return each_sheet(module.examine_sheet)
    return all_sheets(module.examine_sheet, module.conclude)
