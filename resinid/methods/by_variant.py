"""Aspects that differ from variant to variant of a resin: a foam dents where the solid does not."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from resinid.reference.method_rows import behaviours_of
from resinid.scoring.latents import aspect_latent
from resinid.scoring.properties import CategoricalProperty

if TYPE_CHECKING:
    from resinid.reference.table import ReferenceTable
    from resinid.scoring.latents import Latent

__all__ = ["ByVariant"]


@dataclass(frozen=True, slots=True, eq=False)
class ByVariant(CategoricalProperty):
    """A quality seen in words, of which some variants have rows of their own.

    Parameters
    ----------
    name, outcomes, folder, depends
        As for :class:`resinid.scoring.properties.CategoricalProperty`.
    variants : tuple of str
        Variants with rows of their own in the folder's ``behaviour.csv``: there the aspect is
        ``"<name> of <variant>"``, and where a resin has such rows they replace its others.
    """

    variants: tuple[str, ...] = ()

    def latent(self, reference: ReferenceTable) -> Latent:
        """Return the chance of each outcome for each variant."""
        plain = CategoricalProperty.latent(self, reference)
        if self.folder is None:
            return plain
        mass, stated, sources = plain.mass.copy(), list(plain.stated), list(plain.sources)
        for name in self.variants:
            aspect = f"{self.name} of {name}"
            own = aspect_latent(reference, aspect, self.outcomes, behaviours_of(self.folder, aspect, self.outcomes))
            for row, variant in enumerate(reference.variants):
                if variant.name == name and own.stated[row]:
                    mass[row], stated[row], sources[row] = own.mass[row], True, own.sources[row]
        mass.flags.writeable = False
        return replace(plain, mass=mass, stated=tuple(stated), sources=tuple(sources))
