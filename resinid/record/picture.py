"""A picture of stated probabilities against what turned out; needs the extra ``resinid[plot]``."""

from __future__ import annotations

from typing import TYPE_CHECKING

from resinid.plot.look import LEADER, axes_or_new, tidy

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from resinid.record.checks import TrackRecord

__all__ = ["draw_reliability"]


def draw_reliability(track: TrackRecord, *, ax: Axes | None = None) -> Axes:
    """Draw for each tenth of stated probability the share that was right, with its interval and count.

    Parameters
    ----------
    track : TrackRecord
    ax : matplotlib.axes.Axes, optional

    Returns
    -------
    matplotlib.axes.Axes
    """
    axes = axes_or_new(ax)
    axes.plot([0, 1], [0, 1], color="black", linewidth=1.0, linestyle=(0, (5, 3)), label="as stated")
    for stated, share in track.bins:
        found = share.count / share.of
        axes.plot([stated, stated], [share.low, share.high], color=LEADER, linewidth=1.5)
        axes.plot([stated], [found], marker="o", color=LEADER)
        axes.annotate(f"{share.of}", (stated, share.high), xytext=(0, 6), textcoords="offset points", ha="center")
    axes.set(
        xlim=(0, 1.03),
        ylim=(0, 1.1),
        xlabel="Probability stated of the first resin",
        ylabel="Share of pieces that were it",
        title=f"{track.pieces} pieces; calibration error {track.error:.2f} ({track.low:.2f} to {track.high:.2f})",
    )
    axes.legend(loc="lower right", frameon=False)
    tidy(axes)
    return axes
