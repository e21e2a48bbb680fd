"""What a worker may use."""

from __future__ import annotations

from prepcheck.frozen import dataclass

SECONDS, MEGABYTES = 60.0, 1536
"""A part's budget unless another is asked for. The heaviest honest jackets seen take a few
seconds and less than half of the memory."""
ASKED_OF_CLIENT = (
    "send it simpler, or this piece flattened, at 300 to 600 ppi; if it has to stay as it "
    "is, tell us, and we check it by hand"
)
"""What to ask of a client, who cannot change what a worker may use."""


@dataclass(frozen=True, slots=True)
class WorkerLimits:
    """What one part may use before its worker is stopped."""

    seconds: float = SECONDS
    """Time that it has had; what it waited for a processor that others use does not count."""
    memory_mb: int = MEGABYTES
    """Memory that is written to, shared libraries and files not counted."""
    answer_mb: int = 256
    """Greatest size of a worker's answer, pictures for the proof included."""

    def out_of_time(self) -> str:
        """Return why a part was ended, and what who runs the check can do."""
        return (
            f"checking it took longer than {self.seconds:g} s and was stopped; simplify the "
            "file, or allow it more time with --part-seconds"
        )

    def out_of_memory(self) -> str:
        """Return why a part was ended, and what who runs the check can do."""
        return (
            f"checking it needs more than {self.memory_mb} MB of memory; simplify the file, or "
            "allow it more memory with --part-mb"
        )
