"""A plan in words, before it is played: its blocks as they fit the limits."""

from __future__ import annotations

from datetime import datetime

from textual.content import Content

from drillrunner.catalogue.plans import FROM_PLAN, Block, Plan
from drillrunner.odds.words import share as percent
from drillrunner.practice.sessions.refit import balls, clock
from drillrunner.practice.sessions.session import Limits, new


def _why(block: Block) -> str:
    """Why a block is there: the tool's reason, or what the plan's author says of it."""
    return block.note or block.thought or block.why if block.why == FROM_PLAN else block.why


def _more(block: Block) -> tuple[str, ...]:
    """What a composed block is worth, how it is turned, and what a technique block is about."""
    technique = block.kind == "technique" and block.why != FROM_PLAN
    about = (block.thought, block.note) if technique else ()
    return (block.worth, ", ".join(map(_set, block.set if block.why != FROM_PLAN else ())), *about)


def _set(setting: str) -> str:
    """`aim.width=32` as a golfer reads it: `width 32`."""
    name, _, value = setting.partition("=")
    return f"{name.rpartition('.')[2].replace('_', ' ')} {value}"


def plan_text(plan: Plan, limits: Limits, at: datetime) -> Content:
    """The blocks of a plan as they fit the limits, each with its share and why it is there."""
    fits = new(plan, limits, at).forecast
    shares = {share.place: share for share in fits.shares}
    parts: list[Content | str] = []
    for place, block in enumerate(plan.blocks):
        share = shares.get(place)
        if share is None:
            parts += [Content.styled(f"{block.title}: no room", "strike"), "\n\n"]
            continue
        count = f", {balls(share.balls)}" if share.balls else ""
        chance = "" if block.chance is None else f", {percent(block.chance)}"
        parts += [
            Content.styled(f"{clock(share.seconds)} {block.title}", "bold"),
            f"{count}{chance}\n{_why(block)}\n",
        ]
        parts += [f"{said}\n" for said in _more(block) if said]
    shortened = [share.block.title for share in fits.shortened]
    if shortened:
        parts.append(f"\n◆ shortened to fit: {', '.join(shortened)}\n")
    if plan.note:
        parts.append(f"\n{plan.note}\n")
    return Content.assemble(*parts)
