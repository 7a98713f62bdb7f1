"""decide.yaml: what things cost, in minutes of the user's time."""

from __future__ import annotations

from typing import Annotated

from msgspec import Meta

from .base import Effect, Id, Row, Sources, Text


class Taste(Row, frozen=True, kw_only=True):
    """How much a user minds time, harm, hazard and money, against the usual."""

    time: float = 1.0
    harm: float = 1.0
    hazard: float = 1.0
    money: float = 1.0


class Decide(Row, frozen=True, kw_only=True):
    """decide.yaml: what things cost, all in minutes of the user's time, and when to stop asking."""

    patch_minutes: float
    fallback_minutes_m2: float
    fallback_harm: Annotated[float, Meta(ge=0, le=1, description="chance that cutting the film away spoils the wood")]
    damage_minutes: Annotated[float, Meta(description="what spoiling one square metre costs")]
    hazard_minutes: Annotated[list[float], Meta(min_length=6, max_length=6, description="by hazard 0 to 5")]
    mark_minutes: Annotated[list[float], Meta(min_length=4, max_length=4, description="by mark 0 to 3 of a test")]
    minutes_per_money: float
    watch_share: Annotated[float, Meta(ge=0, le=1, description="share of a dwell that is lost to looking after it")]
    watch_most_minutes: float
    wait_minutes_an_hour: Annotated[
        float, Meta(ge=0, description="what an hour of dwell or drying costs though nobody works")
    ]
    soft_to_ready: Annotated[
        float, Meta(ge=1, description="a film that went soft is ready after so many times as long")
    ]
    wait_share: Annotated[float, Meta(ge=0, le=1, description="share of the waiting in a test that is lost")]
    most_harm: Annotated[float, Meta(gt=0, le=1, description="a way more harmful than this is not proposed")]
    most_loss: Annotated[
        float, Meta(gt=0, le=1, description="a way likelier than this to take the film that is to stay is no route")
    ]
    gamble_from: Annotated[float, Meta(gt=0, lt=1, description="harm of the best way from which `gamble` is said")]
    gamble: Annotated[Text, Meta(description="what is said then; {remover} and {p}, the chance of harm")]
    no_way: Annotated[Text, Meta(description="what is said where no remover is worth a try")]
    astray: Annotated[Text, Meta(description="what is said if the answers may speak of no finish; {p}: how likely")]
    elsewhere_most_hazard: Annotated[int, Meta(ge=0, le=5, description="never sent outdoors for anything worse")]
    elsewhere: Annotated[
        Text,
        Meta(description="what is said if only the room forbids the better way; {remover}, {hours} of work, {p}: harm"),
    ]
    not_knowing_minutes: Annotated[float, Meta(ge=0, description="what a wrong name costs beside the removal")]
    settled: Annotated[float, Meta(gt=0.5, lt=1)]
    possible: Annotated[float, Meta(gt=0, lt=0.5)]
    same_route_minutes: float
    harmless: Annotated[float, Meta(gt=0, lt=1, description="a way with no more harm than this counts as harmless")]
    same_result: Annotated[float, Meta(gt=0, lt=1, description="chances of working this near are the same result")]
    grave_hazard: Annotated[
        int, Meta(ge=1, le=6, description="from this hazard on, a milder way with the same result goes first")
    ]
    usual_coats: Annotated[float, Meta(gt=0, description="coats that the usual thickness of a film stands for")]
    harm_by_effect: dict[Effect, float]
    works_by_effect: dict[Effect, Annotated[float, Meta(ge=0, le=1)]]
    tastes: dict[Id, Taste]
    ease: Annotated[dict[str, float], Meta(description="time factor by stage of a test")]
    source: Sources
