"""What must hold before a change goes in, in turn, and the processor time it took: `make test`.

    python -m tests.checks WORKERS

Ends at the first check that fails, with its exit code; with 1 where all hold and took too long.
"""

from __future__ import annotations

import resource
import subprocess
import sys
from pathlib import Path

LIMIT = 480
"""Processor seconds of all checks together. Each later addition may raise it by 15 s and says so in
its commit. It took about 400 s where little else ran; a busy machine adds up to a quarter to that,
and must not fail for it."""


def checks(workers: str) -> list[list[str]]:
    """The commands, quickest first."""
    return [
        ["ruff", "check", "."],
        ["ruff", "format", "--check", "."],
        ["lint-imports", "--no-logo"],
        ["mypy"],
        # A worker keeps to its half of the files until the other has none left, so that what a
        # file shares is made once.
        ["pytest", "-n", workers, "--dist", "worksteal"],
    ]


def processor_seconds() -> float:
    """What everything that was started here has taken, and whatever that started in turn."""
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def main(workers: str) -> int:
    beside = Path(sys.executable).parent
    for name, *words in checks(workers):
        print(name, *words, flush=True)
        code = subprocess.run([beside / name, *words], check=False).returncode
        if code:
            return code
    seconds = processor_seconds()
    print(f"{seconds:.0f} processor seconds, of {LIMIT} that the checks may take.")
    if seconds > LIMIT:
        print("Too long: pytest --durations=50 names the slowest.", file=sys.stderr)
    return int(seconds > LIMIT)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1]))
