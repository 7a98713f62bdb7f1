"""What is going to happen to the film of a surface: strip, keep, seal, leave, or bare already."""

from __future__ import annotations

from typing import Literal

from ..examine import Examination
from ..knowledge.base import Knowledge

Handling = Literal["strip", "keep", "seal", "leave", "bare"]


def handling(done: Examination, knowledge: Knowledge) -> Handling:
    """As the user says; else a hidden face is left, bare wood is bare, and a film goes if there is a way."""
    if done.surface.plan is not None:
        return done.surface.plan
    if done.surface.hidden:
        return "leave"
    if knowledge.finishes[done.posterior.top].recoat_row in knowledge.recoat.bare.values():
        return "bare"
    return "strip" if done.routes else "keep"


def ends_bare(how: Handling) -> bool:
    """Whether bare wood shows before the next coat."""
    return how in ("strip", "bare")
