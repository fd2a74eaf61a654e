"""Coverage-guided fuzzing of every reader, for a bounded time.

Run by hand or by ``.ci/run``, never by pytest; atheris is needed, and is no dependency::

    pip install atheris && python tests/trust/fuzz_readers.py 60 document table

The first argument is the time in seconds, shared evenly among the readers named, or
among all. Each reader runs in a process of its own, with at most two gigabytes, and
no input may take more than a minute (a busy machine). Exit code 1 and the input, where anything but
the package's own error comes out.
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
from contextlib import suppress
from pathlib import Path

MEGABYTES = 2048
SECONDS = 60


def fuzz(name: str, seconds: int, folder: str) -> None:
    """Fuzz one reader in this process."""
    import atheris

    with atheris.instrument_imports(include=["resinid"], enable_loader_override=False):
        from readers import READERS, SOUND

        import resinid

    read = READERS[name]
    for data in SOUND[name]:
        read(data)  # what is loaded on first use is not timed

    def one(data: bytes) -> None:
        with suppress(resinid.ResinidError):
            read(data)

    options = [f"-max_total_time={seconds}", f"-rss_limit_mb={MEGABYTES}", f"-timeout={SECONDS}", "-max_len=4096"]
    atheris.Setup([sys.argv[0], *options, "-print_final_stats=1", "-verbosity=1", folder], one)
    atheris.Fuzz()


def main(arguments: list[str]) -> int:
    """Fuzz each reader in a process of its own; return 1 if anything escaped."""
    from readers import READERS, SOUND

    names = arguments[1:] or list(READERS)
    seconds = max(int(arguments[0]) // len(names), 1) if arguments else 10
    failed = []
    for name in names:
        with tempfile.TemporaryDirectory() as folder:
            for number, data in enumerate(SOUND[name]):
                (Path(folder) / f"sound{number}").write_bytes(data)
            command = [sys.executable, __file__, "--one", name, str(seconds), folder]
            done = subprocess.run(command, capture_output=True, text=True, errors="replace", check=False, cwd=folder)
            runs = [line for line in done.stderr.splitlines() if "number_of_executed_units" in line]
            print(f"{name:10} {'FAILED' if done.returncode else 'held':7} {' '.join(runs)}", flush=True)
            if done.returncode:
                failed.append(name)
                print(done.stdout[-3000:], done.stderr[-6000:], sep="\n")
                for left in Path(folder).glob("*-*"):
                    print(f"{left.name}: {left.read_bytes()!r:.4000}")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.path.insert(0, str(Path(__file__).parent))
    if sys.argv[1:2] == ["--one"]:
        fuzz(sys.argv[2], int(sys.argv[3]), sys.argv[4])
    else:
        sys.exit(main(sys.argv[1:]))
