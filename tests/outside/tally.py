"""Counts what held and what did not.

Job: keep, for each kind of check, how often it held and the deviation that came nearest to its bound.
Invariant: a deviation that is not a finite number at or below its bound is a failure.
"""

import math
from dataclasses import dataclass, field


@dataclass
class Kind:
    """One kind of check: where its figures come from, in what unit, and how it went."""

    source: str
    unit: str
    held: int = 0
    failed: list[str] = field(default_factory=list)
    worst: tuple[float, float, str] = (0.0, 0.0, "")
    nearest: float = -1.0


class Tally:
    """All kinds of checks of one run."""

    def __init__(self) -> None:
        self.kinds: dict[str, Kind] = {}

    def check(self, kind: str, source: str, case: str, deviation: float, bound: float, unit: str) -> None:
        """Holds `deviation` (in `unit`, zero or above) against `bound`."""
        entry = self.kinds.setdefault(kind, Kind(source, unit))
        if math.isfinite(deviation) and 0.0 <= deviation <= bound:
            entry.held += 1
        else:
            entry.failed.append(f"{case}: {deviation:.6g} {unit} against {bound:.3g} {unit}")
        # With a bound of zero only the sign of the deviation counts.
        share = deviation / bound if bound > 0.0 else (0.0 if deviation == 0.0 else math.inf)
        if not math.isfinite(share) or share > entry.nearest:
            entry.nearest, entry.worst = share, (deviation, bound, case)

    def none(self, kind: str, source: str, case: str, found: list[str]) -> None:
        """Demands that nothing was found."""
        self.check(kind, source, case if not found else f"{case} ({found[0]})", len(found), 0, "findings")

    def failed_kinds(self) -> set[str]:
        """Names of the kinds that failed at least once."""
        return {name for name, kind in self.kinds.items() if kind.failed}

    def lines(self) -> list[str]:
        """One line for each kind, and one more for each failure."""
        lines = []
        for name, kind in self.kinds.items():
            deviation, bound, case = kind.worst
            word = "FAILED" if kind.failed else "ok"
            count = kind.held + len(kind.failed)
            lines.append(
                f"{word:6} {name} [{kind.source}]: {count} checks, "
                f"worst {deviation:.3g} against {bound:.3g} {kind.unit} ({case})"
            )
            lines += [f"       - {text}" for text in kind.failed]
        return lines

    def totals(self) -> tuple[int, int]:
        """How many checks held and how many failed."""
        kinds = self.kinds.values()
        return sum(k.held for k in kinds), sum(len(k.failed) for k in kinds)
