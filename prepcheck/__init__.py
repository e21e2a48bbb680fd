"""prepcheck: checks artwork for record labels and sleeves before plates are made."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from prepcheck.intake.comparing import compare as compare
    from prepcheck.run.examine import inspect as inspect

__all__ = ["__version__", "compare", "inspect"]

__version__ = "0.1.0"


def __getattr__(name: str) -> Any:
    """Import what is asked for only now, so that importing the package stays fast."""
    if name == "inspect":
        from prepcheck.run.examine import inspect

        return inspect
    if name == "compare":
        from prepcheck.intake.comparing import compare

        return compare
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
