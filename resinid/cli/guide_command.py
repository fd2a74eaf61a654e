"""The command that shows the guide, and an example for the help of each command."""

from __future__ import annotations

from types import MappingProxyType
from typing import TYPE_CHECKING, Any, Final

if TYPE_CHECKING:
    import argparse
    from collections.abc import Callable

    Printed = tuple[str, Any]
    Command = Callable[[str, str, Callable[[argparse.Namespace], Printed]], argparse.ArgumentParser]

__all__ = ["EXAMPLES", "add_guide_command"]

EXAMPLES: Final = MappingProxyType(
    {
        "identify": "resinid identify examples/green_cap.toml --full",
        "liquid": "resinid liquid ethanol 40 %v/v at 22 degC",
        "methods": "resinid methods",
        "resins": "resinid resins",
        "sources": "resinid sources",
        "table": "resinid table",
        "next": 'resinid next examples/green_cap.toml --have "scale 0.1 g, strip"',
        "bench": 'resinid bench --have "table salt, scale 0.1 g" --save piece.toml',
        "recipe": 'resinid recipe "1.070 g/cm3" table salt',
        "ladder": "resinid ladder PE-HD PS PP",
        "rows": 'resinid rows bags.csv answers.csv --keep id --sep ";" --decimal ,',
        "batch": "resinid batch examples/caps_bag.toml",
        "together": "resinid together examples/caps_bag.toml examples/milk_bag.toml",
        "plan": "resinid plan examples/caps_bag.toml --volume 400",
        "stock": "resinid stock examples/kettle_lane_stock.csv",
        "sheet": "resinid sheet examples/green_cap.toml -o sheet.html",
        "record": "resinid record list shop.sqlite",
        "guide": "resinid guide table",
    }
)
"""How each command is called."""


def add_guide_command(command: Command) -> None:
    """Add the command to the parser."""
    from resinid.guide import TOPICS

    about = "; ".join(f"{topic}: {what}" for topic, what in TOPICS.items())
    guide = command("guide", "Show a page of the guide, or its topics.", _guide)
    guide.add_argument("topic", nargs="?", choices=[*TOPICS], metavar="TOPIC", help=about)


def _guide(chosen: argparse.Namespace) -> Printed:
    from resinid.guide import TOPICS, page

    if chosen.topic is None:
        width = max(map(len, TOPICS))
        text = "\n".join(f"{topic:{width}}  {what}" for topic, what in TOPICS.items())
        return f"{text}\n\nresinid guide TOPIC shows a page.", dict(TOPICS)
    return page(chosen.topic).rstrip(), {"topic": chosen.topic, "text": page(chosen.topic)}
