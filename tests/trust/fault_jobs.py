"""What children do until they are killed, and what must hold afterwards."""

from __future__ import annotations

from pathlib import Path
from typing import Final

from resinid.cli.session import Session, load_session, save_session
from resinid.tables import frame, stream

__all__ = ["prepare", "saved", "saving", "streamed", "streaming"]

ANSWERS: Final = ({"test": "snap", "outcome": "snaps"}, {"test": "feel", "outcome": "rigid"})
OLD: Final = Session("cap", ANSWERS[:1])
NEW: Final = Session("cap", ANSWERS)
ROWS: Final = 50
UNIT: Final = 20


def _small_units() -> None:
    """Score few rows at a time, so that a run can be killed between units. Only in children, for it stays so."""
    setattr(frame, "UNIT", UNIT)  # noqa: B010 - because it is final for all but these children
    setattr(stream, "UNIT", UNIT)  # noqa: B010 - as above


def saving(folder: str) -> None:
    """Save an answer, then another."""
    path = Path(folder) / "piece.toml"
    if not path.exists():
        save_session(OLD, path)
    save_session(NEW, path)
    save_session(OLD, path)


def saved(folder: str) -> None:
    """Check that the file, once there, is one of the two, whole."""
    path = Path(folder) / "piece.toml"
    if path.exists():
        assert load_session(path) in (OLD, NEW)


def _source(folder: str) -> Path:
    source = Path(folder) / "in.csv"
    if not source.exists():
        lines = [f"{index},{0.9 + index / 100},0.004" for index in range(ROWS)]
        head = "id,density.density [g/cm3],density.density_u [g/cm3]"
        source.write_text("\n".join([head, *lines]) + "\n", encoding="utf-8")
    return source


def prepare(folder: str) -> None:
    """Lay out what the jobs read."""
    _source(folder)


def streaming(folder: str) -> None:
    """Stream a file whose last run, if there was one, was killed."""
    _small_units()
    stream.identify_file(_source(folder), Path(folder) / "out.csv", top=2, keep=["id"], resume=True)


def streamed(folder: str) -> None:
    """Check that the target is whole or absent, and that resuming makes it so to the byte; then begin afresh."""
    _small_units()
    target, whole = Path(folder) / "out.csv", Path(folder) / "whole.csv"
    if not whole.exists():
        stream.identify_file(_source(folder), whole, top=2, keep=["id"])
    if target.exists():
        assert target.read_bytes() == whole.read_bytes()
    streaming(folder)
    assert target.read_bytes() == whole.read_bytes()
    assert not target.with_name("out.csv.parts").exists()
    target.unlink()
