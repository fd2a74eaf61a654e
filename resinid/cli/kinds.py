"""Whether a file is of one piece or of a bag, so that the wrong command names the right ones."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from resinid.errors import Fault, InputError

if TYPE_CHECKING:
    from resinid.batches.bag import Batch
    from resinid.io.document import Document

__all__ = ["bag_of", "piece_of"]

BAG: Final = frozenset({"batch", "flakes", "marked"})
"""Keys that only a bag has; it also has pieces as a list of tables."""

PIECE: Final = "observation"
"""Key that only a piece has at its top."""


def piece_of(text: str) -> Document:
    """Read the document of one piece.

    Raises
    ------
    InputError
        Every fault of it; of a bag only that it is one, and what to do with it.
    """
    from resinid.io.document import parsed, read_document

    data = parsed(text)
    if PIECE not in data and _like_a_bag(data):
        raise InputError([Fault("", "this is a bag and not one piece; use batch, together or plan")])
    return read_document(text)


def bag_of(text: str, name: str) -> Batch:
    """Read the document of a bag that is called so where it does not say.

    Raises
    ------
    InputError
        Every fault of it; of one piece only that it is one, and what to do with it.
    """
    from resinid.batches.bag import read_batch
    from resinid.io.document import parsed

    data = parsed(text)
    if PIECE in data and not _like_a_bag(data):
        raise InputError([Fault("", "this is one piece and not a bag; use identify, next or sheet")])
    return read_batch(text, name)


def _like_a_bag(data: dict[str, Any]) -> bool:
    return bool(BAG & set(data)) or isinstance(data.get("piece"), list)
