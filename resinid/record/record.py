"""A record as a workshop uses it: what was identified, planned and found out, and what that teaches."""

from __future__ import annotations

import json
from dataclasses import asdict, replace
from typing import TYPE_CHECKING, Any, Final, Unpack

from resinid.errors import Fault, Faults, InputError, UnknownNameError
from resinid.heating.temperatures import barred_resins
from resinid.heating.verdict import DO_NOT_HEAT
from resinid.identification.identify import identify
from resinid.identification.result import Result
from resinid.io.build import unbuild
from resinid.record.checks import TrackRecord, track_record
from resinid.record.entry import FATES, lot_of
from resinid.record.export import export, frame_of
from resinid.record.instruments import Instrument, instruments, known_pieces
from resinid.record.learn import LearnedPrior, Options, learned_prior
from resinid.record.store import Store
from resinid.reference.table import ReferenceTable, reference_or_default
from resinid.scoring.prior import NONE_OF_THESE

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from pathlib import Path

    import pandas as pd

    from resinid.batches.bag import Batch
    from resinid.melting.steps import MeltPlan
    from resinid.methods.contract import Observation
    from resinid.record.entry import Entry

__all__ = ["Record"]

SAME: Final = 1e-9
"""Probabilities that differ by no more are the same."""


class Record(Store):
    """A workshop's record, kept in one file.

    Parameters
    ----------
    path : str or path
    read_only : bool, optional
        As for :class:`resinid.record.store.Store`.
    reference : ReferenceTable, optional
        The package's own where not given. Answers by another one are history.

    Examples
    --------
    >>> import tempfile
    >>> with tempfile.TemporaryDirectory() as folder, Record(f"{folder}/shop.sqlite") as record:
    ...     answer = record.identify([{"test": "float", "liquid": "water", "outcome": "floats"}], piece="lid")
    ...     record.confirm(1, "PP", how="DSC")
    ...     [(entry.name, entry.confirmed) for entry in record.entries()]
    [('lid', 'PP')]
    """

    def __init__(self, path: str | Path, *, read_only: bool = False, reference: ReferenceTable | None = None) -> None:
        self.reference: ReferenceTable = reference_or_default(reference)
        super().__init__(path, read_only=read_only)

    def identify(
        self,
        observations: Iterable[Observation | Mapping[str, object]],
        *,
        article: str = "",
        source: str = "",
        prior: str | Mapping[str, float] | None = None,
        at: str | None = None,
        **options: Unpack[Options],
    ) -> Result:
        """Rank the resins of a piece and record it.

        Parameters
        ----------
        observations : iterable
            As :func:`resinid.identify` takes them.
        article, source : str, optional
            What kind of thing it is, and where it came from.
        prior : str or mapping, optional
            As for :func:`resinid.identify`; what the record teaches where not given. Heating is then judged
            as if nothing had been learned.
        at : str, optional
            When, by ISO 8601; now where not given.
        **options
            Of :func:`resinid.identify`, such as ``piece``.
        """
        options["reference"] = self.reference
        if prior is None:
            learned = self.prior(article=article, source=source)
            answer = learned.judged(identify(observations, prior=learned.shares, **options), **options)
        else:
            answer = identify(observations, prior=prior, **options)
        self.add_result(answer, learned=prior is None, article=article, source=source, at=at)
        return answer

    def prior(self, *, article: str = "", source: str = "") -> LearnedPrior:
        """Return the prior that the confirmed pieces teach; see :func:`resinid.record.learn.learned_prior`."""
        return learned_prior(self.entries(), article=article, source=source, reference=self.reference)

    def add_result(
        self, answer: Result, *, learned: bool = False, article: str = "", source: str = "", at: str | None = None
    ) -> int:
        """Record a piece with its answer, and whether its ranking is by a learned prior; return its number."""
        seen = [{"test": each.test, **unbuild(each)} for each in answer.observations]
        return self.add(
            "piece",
            answer.piece,
            {"piece": answer.piece, "observation": seen},
            answer.to_dict() | ({"learned": True} if learned else {}),
            digest=answer.reference_digest,
            article=article,
            source=source,
            at=at,
        )

    def add_bag(
        self,
        bag: Batch,
        answer: Mapping[str, Any] | None = None,
        *,
        source: str = "",
        made_from: Iterable[int] = (),
        at: str | None = None,
    ) -> int:
        """Record a bag, and what was said of it as JSON types; return its number."""
        return self.add(
            "bag",
            bag.name,
            bag.to_dict(),
            answer,
            digest=self.reference.digest,
            article=bag.article,
            source=source,
            made_from=made_from,
            at=at,
        )

    def add_plan(self, plan: MeltPlan, *bags: Batch, source: str = "", at: str | None = None) -> int:
        """Record a melt plan, and the bags it is of; return its number."""
        parts = [self.add_bag(bag, source=source, at=at) for bag in bags]
        return self.add(
            "plan",
            " + ".join(bag.name for bag in bags),
            {} if plan.steps is None else {"given": asdict(plan.steps.given)},
            plan.to_dict(),
            digest=self.reference.digest,
            source=source,
            made_from=parts,
            at=at,
        )

    def confirm(self, number: int, what: str, how: str = "", note: str = "", *, at: str | None = None) -> None:
        """Write down what turned out: a resin by symbol or alias, "none of these", or what became of it when heated.

        Raises
        ------
        InputError
            No such entry, a resin that is not in the table, or a fate of a piece that nobody heats.
        """
        faults, entry = Faults(), self.entry(number)
        if what in FATES:
            if entry.kind not in {"slab", "plan", "bag", "piece"}:
                faults.add("outcome", f"a {entry.kind} is not heated; confirm the slab, plan, bag or piece")
        elif what != NONE_OF_THESE:
            try:
                what = self.reference.resin(what).symbol
            except UnknownNameError as error:
                said = f"{error}; an outcome is a resin, {NONE_OF_THESE}, or one of: {', '.join(FATES)}"
                faults.add("outcome", said)
        faults.check()
        super().confirm(number, what, how, note, at=at)

    def instruments(self) -> tuple[Instrument, ...]:
        """Return how far each instrument is off, by trials and by where pieces of known resin softened."""
        return instruments([*self.checks(), *known_pieces(self.entries(), self.reference)])

    def track_record(self) -> TrackRecord:
        """Return how good the answers were, by what turned out; see :mod:`resinid.record.checks`."""
        return track_record(self.entries(), self.reference)

    def result(self, number: int) -> Result:
        """Return the latest answer on a piece, scored again: where that gives something else it is history.

        Raises
        ------
        InputError
            It is no piece, or has no answer.
        """
        entry = self.entry(number)
        if entry.kind != "piece" or entry.answer is None:
            raise InputError([Fault(f"entry {number}", "is no piece with an answer")])
        found = Result.from_json(json.dumps(entry.answer.data), reference=self.reference)
        if entry.answer.data.get("learned") is not True or found.left_out:
            return found
        if found.reference_digest != self.reference.digest:
            return found
        # Ranked by a learned prior, which must give the same again, and judged by the published one.
        options: Options = {"reference": self.reference, "danger_limit": found.danger_limit}
        named = identify(found.observations, prior=dict(zip(found.resins, found.prior, strict=True)), **options)
        heat = identify(found.observations, **options).heat
        same = all(abs(named[resin] - found[resin]) <= SAME for resin in found)
        return replace(found, heat=heat) if same and heat.verdict == entry.answer.verdict else found

    def dangers(self) -> dict[int, str]:
        """Return which entries must not be heated, whatever their own answers say, and why.

        Those that fumed or turned out to be what must not be heated, and what these were made from; what was made
        from any of these, and from a thing without leave.
        """
        return self._dangers({each.number: each for each in self.entries()})

    def _dangers(self, entries: Mapping[int, Entry]) -> dict[int, str]:
        barred = barred_resins(self.reference).tolist()
        bad = {name for name, bar in zip(self.reference.symbols, barred, strict=True) if bar} | {NONE_OF_THESE}
        why: dict[int, str] = {}
        for each in entries.values():
            if each.confirmed in bad or "fumed" in each.fates:
                said = "fumed" if "fumed" in each.fates else f"turned out to be {each.confirmed}"
                for number in lot_of(entries, each.number):
                    why.setdefault(number, f"{each.kind} {each.number} {said}")
        for each in entries.values():  # in the order recorded: whatever was made stands behind what it was made from
            for part in (entries[number] for number in each.made_from):
                if part.number in why:
                    why.setdefault(each.number, why[part.number])
                elif part.answer is not None and part.answer.leave is False:
                    why.setdefault(each.number, f"made from {part.kind} {part.number}, which got no leave")
        return why

    def verdicts(self) -> dict[int, str]:
        """Return each entry's verdict on heating as it counts today, empty where none was given.

        What another reference table gave is history, and so is what was found to be another resin; history gives
        no leave. Nor is anything heated that :meth:`dangers` names.
        """
        entries = {each.number: each for each in self.entries()}
        why = self._dangers(entries)
        return {
            number: f"{DO_NOT_HEAT}: {why[number]}" if number in why else self._verdict(each)
            for number, each in entries.items()
        }

    def _verdict(self, entry: Entry) -> str:
        if entry.answer is None or not entry.answer.verdict:
            return ""
        given, ranked = entry.answer.verdict, entry.ranking()
        if entry.answer.reference_digest != self.reference.digest:
            return f"{DO_NOT_HEAT}: by another reference table, history; the verdict was: {given}"
        if entry.confirmed and ranked and entry.confirmed != max(ranked, key=lambda name: ranked[name][0]):
            return f"{DO_NOT_HEAT}: it turned out to be {entry.confirmed}, history; the verdict was: {given}"
        return given

    def to_frame(self, *, names: bool = True) -> pd.DataFrame:
        """Return one row an entry; see :func:`resinid.record.export.frame_of`."""
        return frame_of(self.entries(), self.verdicts(), names=names)

    def export(self, target: str | Path, *, names: bool = True) -> None:
        """Write the record to a .csv, .parquet or .json file; see :func:`resinid.record.export.export`."""
        export(self.entries(), self.checks(), self.verdicts(), target, names=names)
