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


def _note(block: Block) -> str:
    """What a composed technique block goes with."""
    return block.note if block.kind == "technique" and block.why != FROM_PLAN else ""


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
        parts += [f"{said}\n" for said in (block.worth, _note(block)) if said]
    shortened = [share.block.title for share in fits.shortened]
    if shortened:
        parts.append(f"\n◆ shortened to fit: {', '.join(shortened)}\n")
    if plan.note:
        parts.append(f"\n{plan.note}\n")
    return Content.assemble(*parts)
