"""What a worker may use."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class WorkerLimits:
    """What one part may use before its worker is stopped."""

    seconds: float = 180.0
    """Wall time. The heaviest honest jackets seen take a few seconds."""
    memory_mb: int = 4096
    """Address space, which is about twice what is really used."""
    answer_mb: int = 256
    """Greatest size of a worker's answer, pictures for the proof included."""
