"""Makes every part of cases.toml with the released program and checks its files with independent libraries.

Prints one line for each kind of check, then the totals; exits 1 on any failure.
"""

import argparse
import subprocess
import sys
import tomllib
from pathlib import Path

from aim_checks import check_aim
from blank_checks import check_blank
from clearance_checks import check_clearances
from equation_checks import check_equations
from figure_checks import check_figures
from nest_checks import check_nest
from mesh_checks import check_meshes
from opening_checks import check_openings
from order_checks import check_orders
from part_files import read_part
from solid_checks import check_solid
from strip_checks import check_strips
from spread_checks import check_spreads
from tally import Tally
from tampering import check_tampering

HERE = Path(__file__).resolve().parent
ROOT = HERE.parent.parent
# How many random parts gmsh reads.
RANDOM_PARTS = 200
# How many pairs of a plate and a neighbour fcl measures.
RANDOM_PAIRS = 1000
# How many half-folded parts fcl lays between the tools.
HALF_FOLDED = 100


def main() -> int:
    arguments = argparse.ArgumentParser(description=__doc__)
    arguments.add_argument("program", type=Path, help="the released program")
    arguments.add_argument(
        "--out", type=Path, default=ROOT / "target" / "outside", help="folder for the parts"
    )
    arguments.add_argument("--without-gmsh", action="store_true", help="leave out what is checked with gmsh")
    given = arguments.parse_args()
    program, out = given.program.resolve(), given.out.resolve()
    parts = tomllib.loads((HERE / "cases.toml").read_text(encoding="utf-8"))["part"]
    schema = (ROOT / "docs" / "report.schema.json").read_text(encoding="utf-8")
    tally = Tally()
    _every_script_is_checked(parts, tally)
    if not given.without_gmsh:
        import gmsh_checks

        gmsh_checks.start()
    made: dict[str, tuple[Path, dict]] = {}

    def check(case: str, folder: Path, entry: dict, into: Tally) -> None:
        # What lies across bends or is formed is beyond the checks that were written for square parts.
        if entry.get("exact_solid_only"):
            if not given.without_gmsh:
                gmsh_checks.check_exact_solid(case, folder, into)
            return
        part = read_part(case, entry["script"], folder)
        check_figures(part, schema, entry, into)
        # The other checks read figures that a report against its schema may not have.
        if "report follows its schema" not in into.failed_kinds():
            check_blank(part, entry, into)
            check_solid(part, into)
            check_equations(part, into)
            check_aim(part, into)
            check_strips(part, into)
            check_spreads(part, into)
            check_nest(part, into)
            check_openings(part, into)
            if not given.without_gmsh:
                gmsh_checks.check_with_gmsh(part, into)

    for entry in parts:
        stem = Path(entry["script"]).stem
        for index, settings in enumerate(entry["settings"]):
            words = [f"{name}={value}" for name, value in settings.items()]
            case = f"{stem} {' '.join(words) or 'as declared'}"
            folder = out / f"{stem}-{'-'.join(words) or 'declared'}"
            problem = _make(program, entry["script"], words, folder)
            tally.none("program makes the part", "own", case, problem)
            if not problem:
                check(case, folder, entry, tally)
                if index == 0:
                    made.setdefault(stem, (folder, entry))
    if not given.without_gmsh:
        _random_parts(out / "random", tally)
    check_tampering(
        {stem: folder for stem, (folder, _) in made.items()},
        lambda stem, folder, into: check(stem, folder, made[stem][1], into),
        out,
        tally,
    )
    # These spoil what they look at themselves.
    check_meshes(program, out / "meshes", tally)
    _random_neighbours(out / "neighbours", tally)
    _half_folded_parts(out / "half_folded", tally)
    print("\n".join(tally.lines()))
    if given.without_gmsh:
        print("skipped everything that is checked with gmsh, as asked by --without-gmsh")
    passed, failed = tally.totals()
    print(f"{passed} passed, {failed} failed")
    return 1 if failed else 0


def _make(program: Path, script: str, settings: list[str], folder: Path) -> list[str]:
    """Makes one part; the first lines of the message if the program refuses."""
    path = ROOT / script if script.startswith("scripts/") else HERE / script
    # Odd parts break rules of the shop; what they measure must hold all the same.
    command = [program, "make", path, "--allow-faults", "--out", folder]
    for setting in settings:
        command += ["--set", setting]
    done = subprocess.run(command, capture_output=True, text=True)
    return [] if done.returncode == 0 else [f"exit code {done.returncode}: {done.stderr.strip()[:300]}"]


def _random_parts(folder: Path, tally: Tally) -> None:
    """Exact solids of random parts, which a program of the kernel writes."""
    import gmsh_checks

    problem = _example("random_parts", folder, RANDOM_PARTS)
    tally.none("random parts are written", "own", "random", problem)
    for number in range(0 if problem else RANDOM_PARTS):
        gmsh_checks.check_exact_solid(f"random {number:03}", folder / f"{number:03}", tally)


def _random_neighbours(folder: Path, tally: Tally) -> None:
    """Distances of random plates to random neighbours, which a program of the kernel writes."""
    problem = _example("random_neighbours", folder, RANDOM_PAIRS)
    tally.none("random neighbours are written", "own", "random", problem)
    if not problem:
        check_clearances(folder, tally)


def _half_folded_parts(folder: Path, tally: Tally) -> None:
    """What the planner says of random half-folded parts, which a program of the kernel writes."""
    problem = _example("half_folded_states", folder, HALF_FOLDED)
    tally.none("half-folded parts are written", "own", "random", problem)
    if not problem:
        check_orders(folder, tally)


def _example(name: str, folder: Path, count: int) -> list[str]:
    """Runs a program of the kernel; the first lines of its message if it fails."""
    command = ["cargo", "run", "--locked", "--release", "--quiet", "-p", "foldwright-kernel"]
    command += ["--example", name, "--", str(folder), str(count)]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True)
    return [] if done.returncode == 0 else [done.stderr.strip()[:300]]


def _every_script_is_checked(parts: list[dict], tally: Tally) -> None:
    """A family or part without a row in the table is a failure, so that none is forgotten."""
    listed = {entry["script"] for entry in parts}
    there = {f"scripts/{p.name}" for p in (ROOT / "scripts").glob("*.rhai")}
    there |= {f"parts/{p.name}" for p in (HERE / "parts").glob("*.rhai")}
    tally.none("every script is in the table", "own", "cases.toml", sorted(listed ^ there))


if __name__ == "__main__":
    sys.exit(main())
