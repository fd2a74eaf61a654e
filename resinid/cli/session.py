"""A bench session: what was answered, saved so that a killed session loses nothing.

The file is a piece's document in TOML, which ``resinid identify`` reads as it is; what
only the session needs stands in a comment.
"""

from __future__ import annotations

import json
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any, Final

from resinid.cli.document_files import naming, read_text, write_whole
from resinid.errors import Fault, InputError
from resinid.io.build import unbuild
from resinid.io.document import read_document

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

    from resinid.methods.contract import Observation

__all__ = ["Session", "load_session", "save_session", "toml_of"]

FORMAT: Final = 2
"""Version of the line that holds the settings."""

MARK: Final = "#: resinid bench "
"""What the comment with the session's own settings begins with."""


@dataclass(frozen=True, slots=True)
class Session:
    """What was asked and answered so far.

    Parameters
    ----------
    piece : str
        What the piece is called.
    observations : tuple of mapping
        As :func:`resinid.identify` takes them, in the order answered.
    declined : tuple of (int, str)
        What could not be done: how many observations there were, and the key.
    settings : mapping
        Options of the session: bench, question, enough, allow, without, prior.
    """

    piece: str = ""
    observations: tuple[Mapping[str, object], ...] = ()
    declined: tuple[tuple[int, str], ...] = ()
    settings: Mapping[str, Any] = field(default_factory=dict)

    def observed(self, made: Observation) -> Session:
        """Return the session with one more answer."""
        return replace(self, observations=(*self.observations, {"test": made.test, **unbuild(made)}))

    def without(self, key: str) -> Session:
        """Return the session with one more test that cannot be done."""
        return replace(self, declined=(*self.declined, (len(self.observations), key)))

    def undone(self) -> Session | None:
        """Return the session before its last answer; None where there is none."""
        if self.declined and self.declined[-1][0] == len(self.observations):
            return replace(self, declined=self.declined[:-1])
        return replace(self, observations=self.observations[:-1]) if self.observations else None


def save_session(session: Session, path: Path, before: str | None = None) -> str:
    """Write a session's file whole, and return what was written.

    Parameters
    ----------
    session : Session
    path : pathlib.Path
    before : str, optional
        What this session wrote there last; nothing is written if another has written since.

    Raises
    ------
    InputError
        It cannot be written, or another session has written it.
    """
    text = _text_of(session)
    if before is not None and path.exists() and read_text(str(path)) != before:
        what = "was written by another session meanwhile and is left as it is; the last answer here is not saved"
        raise InputError([Fault(str(path), what)])
    write_whole(path, text)
    return text


def _text_of(session: Session) -> str:
    settings = {"format": FORMAT, **session.settings, "declined": [list(pair) for pair in session.declined]}
    lines = [
        "# Written by `resinid bench`, which resumes it; `resinid identify` reads it as well.",
        MARK + json.dumps(settings, ensure_ascii=True, allow_nan=False),
        f"piece = {toml_of(session.piece)}",
    ]
    prior = session.settings.get("prior")
    if prior:
        lines.append(f"prior = {toml_of(prior)}")
    allow = session.settings.get("allow")
    if allow:
        lines.append(f"allow = {toml_of(list(allow))}")
    if not session.observations:
        lines.append("observation = []")
    for entry in session.observations:
        lines += ["", "[[observation]]", *(f"{key} = {toml_of(value)}" for key, value in entry.items())]
    return "\n".join(lines) + "\n"


def load_session(path: Path) -> Session:
    """Read a session's file.

    Raises
    ------
    InputError
        It is not one; a file written by hand is refused rather than overwritten.
    """
    text = read_text(str(path))
    with naming(str(path)):
        marked = [line for line in text.splitlines() if line.startswith(MARK)]
        if not marked:
            message = "was not written by resinid bench; give another name to save to, so that it is not overwritten"
            raise InputError([Fault("", message)])
        try:
            settings = json.loads(marked[0].removeprefix(MARK))
            declined = tuple((int(count), str(key)) for count, key in settings.pop("declined"))
            if settings.pop("format") not in {1, FORMAT}:
                raise InputError([Fault("", "was written by another version of resinid bench")])
            if "have" in settings:  # as format 1 calls what is at hand
                settings["bench"] = settings.pop("have")
        except (ValueError, KeyError, TypeError, AttributeError, OverflowError, RecursionError) as error:
            if isinstance(error, InputError):
                raise
            raise InputError([Fault("", f"its line {MARK!r} is damaged: {error}")]) from error
        document = read_document(text)
    return Session(document.piece, document.observations, declined, settings)


def toml_of(value: object) -> str:
    """Return a value of JSON types as TOML on one line.

    Examples
    --------
    >>> print(toml_of({"value": 0.95, "unit": "g/cm**3", "sources": ["a"], "it's": True}))
    {value = 0.95, unit = "g/cm**3", sources = ["a"], "it's" = true}
    """
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, (int, float)):
        return repr(value)
    if isinstance(value, str):
        # JSON's escapes are TOML's, but TOML wants the delete character escaped too.
        return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")
    if isinstance(value, dict):
        return "{" + ", ".join(f"{_key(key)} = {toml_of(entry)}" for key, entry in value.items()) + "}"
    if isinstance(value, (list, tuple)):
        return "[" + ", ".join(toml_of(entry) for entry in value) + "]"
    raise TypeError(f"{value!r} has no place in a document")


def _key(key: str) -> str:
    plain = key.isascii() and key.replace("_", "").replace("-", "").isalnum()
    return key if plain else toml_of(key)
